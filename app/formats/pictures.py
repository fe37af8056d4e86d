"""A picture as it comes from a phone, made into what is kept: upright, smaller, nothing beside it.

What is kept is drawn anew from the points alone, so that no place, no name and nothing hidden in
the file is kept with it.
"""

import hashlib
import struct
import threading
import zlib
from dataclasses import dataclass
from io import BytesIO
from typing import BinaryIO, Final

from PIL import ExifTags, Image, ImageCms, PngImagePlugin, UnidentifiedImageError

from app.domain.photographs import PictureFile
from app.domain.problems import NotAccepted
from app.formats.picture_heads import (
    DAMAGED,
    FIELD,
    LEAST_DECODED,
    PictureHead,
    PictureKind,
    read_picture_head,
)

LARGE_SIDE: Final = 1600
SMALL_SIDE: Final = 320
_QUALITY: Final = 85
_MOST_PROFILE_BYTES: Final = 256 * 1024
_MOST_TEXT_BYTES: Final = 256 * 1024
_PLAIN_FIRST: Final = {"1", "P", "LA", "PA", "RGBA"}
_KNOWN_MODES: Final = {"L", "RGB", "CMYK", "YCbCr", *_PLAIN_FIRST}
# What the orientation of TIFF 6.0 and Exif, tag 274, asks for.
_TURNS: Final = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
_BROKEN: Final = (
    OSError,
    SyntaxError,
    ValueError,
    TypeError,
    KeyError,
    IndexError,
    EOFError,
    OverflowError,
    struct.error,
    zlib.error,
    UnidentifiedImageError,
    Image.DecompressionBombError,
)

# One picture at a time: two large ones at once would take twice the memory.
_TURN = threading.Lock()
# What a PNG says in words is never kept, so hardly any of it need be unpacked.
PngImagePlugin.MAX_TEXT_MEMORY = _MOST_TEXT_BYTES


@dataclass(frozen=True, kw_only=True)
class DrawnPicture:
    """One picture to be kept: its JPEG bytes and its size in points."""

    content: bytes
    width: int
    height: int

    @property
    def file(self) -> PictureFile:
        """The file it becomes, named by its hash."""
        return PictureFile(
            sha256=hashlib.sha256(self.content).hexdigest(),
            size=len(self.content),
            width=self.width,
            height=self.height,
        )


@dataclass(frozen=True, kw_only=True)
class DrawnPhotograph:
    """A photograph in both sizes it is kept in."""

    large: DrawnPicture
    small: DrawnPicture


def draw_photograph(stream: BinaryIO) -> DrawnPhotograph:
    """Return a sent picture upright, at most 1600 and 320 points long, as plain JPEG.

    Raises:
        NotAccepted: it is empty, of another kind, damaged, or would take too much memory.
    """
    head = read_picture_head(stream)
    with _TURN:
        try:
            _verify(stream, head)
            picture = _decoded(stream, head)
        except _BROKEN as error:
            raise NotAccepted.at(FIELD, DAMAGED) from error
        large = _jpeg(picture)
        picture.thumbnail((SMALL_SIDE, SMALL_SIDE), Image.Resampling.LANCZOS)
        return DrawnPhotograph(large=large, small=_jpeg(picture))


def _verify(stream: BinaryIO, head: PictureHead) -> None:
    with Image.open(stream, formats=[head.kind.value]) as picture:
        if picture.size != (head.width, head.height):
            raise ValueError("the head says another size")
        picture.verify()
    stream.seek(0)


def _decoded(stream: BinaryIO, head: PictureHead) -> Image.Image:
    """Return the picture small, upright, in plain colours, with nothing tied to it."""
    with Image.open(stream, formats=[head.kind.value]) as opened:
        if opened.mode not in _KNOWN_MODES:
            raise ValueError(f"colours of the kind {opened.mode}")
        profile, turn = opened.info.get("icc_profile"), _turn(opened)
        if head.kind is PictureKind.JPEG:
            opened.draft(None, _least(head))
        # Only what cannot be made smaller as it is becomes plain first: that takes a second copy.
        picture: Image.Image = _bare(opened) if opened.mode in _PLAIN_FIRST else opened
        picture.thumbnail((LARGE_SIDE, LARGE_SIDE), Image.Resampling.LANCZOS)
        picture = _bare(picture)
    if turn is not None:
        picture = picture.transpose(turn)
    return _in_common_colours(picture, profile)


def _turn(picture: Image.Image) -> Image.Transpose | None:
    """Return how the picture has to be turned to stand upright, None if it does."""
    try:
        return _TURNS.get(picture.getexif().get(ExifTags.Base.Orientation, 1))
    except _BROKEN:
        return None


def _least(head: PictureHead) -> tuple[int, int]:
    """Return the least size that a JPEG is decoded to."""
    longest = max(head.width, head.height)
    if longest <= LEAST_DECODED:
        return head.width, head.height
    return (
        max(1, head.width * LEAST_DECODED // longest),
        max(1, head.height * LEAST_DECODED // longest),
    )


def _bare(picture: Image.Image) -> Image.Image:
    """Return the points alone, on white, without anything that came with them."""
    if picture.mode == "P" and "transparency" in picture.info:
        picture = picture.convert("RGBA")
    bare = Image.new("RGB", picture.size, "white")
    if picture.mode in {"LA", "PA"}:
        picture = picture.convert("RGBA")
    if picture.mode == "RGBA":
        bare.paste(picture, mask=picture)
    else:
        bare.paste(picture.convert("RGB"))
    return bare


def _in_common_colours(picture: Image.Image, profile: object) -> Image.Image:
    """Return the picture in sRGB, as every screen takes a picture without a profile.

    Phones write in wider colours; without this a yellowing leaf would look paler than it is. A
    profile that cannot be used is left aside.
    """
    if not isinstance(profile, bytes) or len(profile) > _MOST_PROFILE_BYTES:
        return picture
    try:
        own = ImageCms.ImageCmsProfile(BytesIO(profile))
        common = ImageCms.createProfile("sRGB")
        drawn = ImageCms.profileToProfile(picture, own, common, outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return picture
    return _bare(drawn) if drawn is not None else picture


def _jpeg(picture: Image.Image) -> DrawnPicture:
    buffer = BytesIO()
    picture.save(buffer, "JPEG", quality=_QUALITY, optimize=True)
    return DrawnPicture(content=buffer.getvalue(), width=picture.width, height=picture.height)
