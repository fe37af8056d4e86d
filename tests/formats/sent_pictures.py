"""Pictures as phones and strangers send them, made here from nothing."""

import io
import random
import struct
import zipfile
import zlib
from functools import cache
from typing import Any

from PIL import Image, ImageCms
from PIL.ExifTags import GPS, IFD, Base

SIZE = (640, 480)


def drawn(width: int = SIZE[0], height: int = SIZE[1]) -> Image.Image:
    """Return a picture whose corners tell how it stands: red, green, blue, white from top left."""
    picture = Image.new("RGB", (width, height), "grey")
    half = (width // 2, height // 2)
    for colour, place in (
        ("red", (0, 0)),
        ("green", (half[0], 0)),
        ("blue", (0, half[1])),
        ("white", half),
    ):
        picture.paste(Image.new("RGB", half, colour), place)
    return picture


def noisy(width: int, height: int, *, seed: int = 1) -> Image.Image:
    """Return a picture with something everywhere, as a photograph has."""
    small = (max(1, width // 16), max(1, height // 16))
    points = random.Random(seed).randbytes(small[0] * small[1] * 3)
    return Image.frombytes("RGB", small, points).resize((width, height))


def saved(picture: Image.Image, kind: str = "JPEG", **more: Any) -> bytes:
    buffer = io.BytesIO()
    picture.save(buffer, kind, **more)
    return buffer.getvalue()


@cache
def from_a_phone(orientation: int = 6) -> bytes:
    """Return a JPEG with all that a phone writes into it: place, device, person, words, colours.

    The same bytes each time: a colour profile holds the second in which it was made.
    """
    exif = Image.Exif()
    exif[Base.Orientation] = orientation
    exif[Base.Make] = "Secretive"
    exif[Base.Artist] = "Wilhelmina"
    exif.get_ifd(IFD.GPSInfo)[GPS.GPSLatitude] = (52.0, 30.0, 15.0)
    exif.get_ifd(IFD.GPSInfo)[GPS.GPSLatitudeRef] = "N"
    return saved(
        drawn(),
        exif=exif,
        comment=b"of the north house",
        xmp=b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>hidden words</x:xmpmeta>",
        icc_profile=ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes(),
        quality=95,
    )


def png_head(width: int, height: int) -> bytes:
    """Return the beginning of a PNG that claims a size, with hardly anything behind it."""
    body = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    pieces = [(b"IHDR", body), (b"IDAT", zlib.compress(b"\0" * 1000)), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        for name, data in pieces
    )


def jpeg_claiming(width: int, height: int) -> bytes:
    """Return a small JPEG whose frame claims another size."""
    return _with_frame(saved(noisy(64, 48)), struct.pack(">HH", height, width))


def _with_frame(content: bytes, size: bytes) -> bytes:
    place = content.index(b"\xff\xc0")
    return content[: place + 5] + size + content[place + 9 :]


def many_scans(scans: int = 500) -> bytes:
    """Return a progressive JPEG that says the same scan over and over."""
    content = saved(noisy(640, 480), progressive=True)
    last = content.rindex(b"\xff\xda")
    return content[:last] + content[last:-2] * scans + content[-2:]


def wordy_png() -> bytes:
    """Return a PNG whose words unpack to a hundred megabytes."""
    content = saved(noisy(64, 48), "PNG")
    text = b"Comment\0\0" + zlib.compress(b"x" * 1_000_000)
    piece = struct.pack(">I", len(text)) + b"zTXt" + text
    piece += struct.pack(">I", zlib.crc32(b"zTXt" + text))
    end = content.index(b"IDAT") - 4
    return content[:end] + piece * 100 + content[end:]


def with_archive() -> bytes:
    """Return a JPEG that is a ZIP archive as well."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("page.html", "<script>alert(1)</script>")
    return saved(noisy(640, 480)) + packed.getvalue()


def bomb() -> bytes:
    """Return a PNG of 900 million points in less than a megabyte."""
    return saved(Image.new("1", (30_000, 30_000)), "PNG")


# What is refused, with words of the sentence that is said.
REFUSED = {
    "empty": (b"", "is empty"),
    "a page": (b"<html><script>alert(1)</script></html>", "no picture that can be kept"),
    "a GIF that is a script": (b"GIF89a/*" + b"\0" * 40 + b"*/=1;alert(1)", "no picture that"),
    "a vector drawing": (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no picture that"),
    "HEIC": (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\0" * 64, "Most Compatible"),
    "a WebP": (b"RIFF\x24\0\0\0WEBPVP8 " + b"\0" * 24, "no picture that"),
    "only the first bytes of a JPEG": (b"\xff\xd8\xff", "cut short"),
    "only the first bytes of a PNG": (b"\x89PNG\r\n\x1a\n", "cut short"),
    "a JPEG cut short": (saved(noisy(640, 480))[:6_000], "cut short"),
    "a PNG cut short": (saved(noisy(640, 480), "PNG")[:6_000], "cut short"),
    "a PNG with a changed byte": (
        saved(drawn(), "PNG").replace(b"IDAT", b"IDAT\x01", 1),
        "cut short",
    ),
    "a JPEG without a scan": (saved(noisy(64, 48)).partition(b"\xff\xda")[0], "cut short"),
    "huge by its head": (jpeg_claiming(65_000, 65_000), "65,000 by 65,000 points"),
    "nothing wide": (jpeg_claiming(0, 480), "cut short"),
    "a PNG huge by its head": (png_head(2**31 - 1, 2**31 - 1), "points, more than"),
    "a PNG of less than it claims": (png_head(1_000, 1_000), "cut short"),
    "a bomb": (bomb(), "30,000 by 30,000 points"),
    "many scans": (many_scans(), "too much memory"),
    "a large one in many scans": (
        saved(noisy(2_400, 2_400), progressive=True, quality=50, subsampling=0),
        "too much memory",
    ),
    "a PNG whose words are a bomb": (wordy_png(), "cut short"),
}
# What is large but taken, for the memory it costs.
TAKEN = {
    "80 million points": saved(noisy(8_900, 8_900), quality=60),
    "the largest decoded": saved(noisy(2_559, 2_559), quality=60),
    "the largest of several scans": saved(
        noisy(4_032, 3_024), progressive=True, quality=60, subsampling=2
    ),
    "the largest of several scans and all colours": saved(
        noisy(2_275, 2_275), progressive=True, quality=60, subsampling=0
    ),
    "a see-through PNG": saved(noisy(2_160, 2_160).convert("RGBA"), "PNG", compress_level=1),
    "a PNG of few colours": saved(
        noisy(2_160, 2_160).convert("P"), "PNG", transparency=0, compress_level=1
    ),
    "four inks": saved(noisy(2_550, 2_550).convert("CMYK"), quality=60),
    "an archive as well": with_archive(),
}
