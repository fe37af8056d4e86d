"""What the first bytes of a picture say of it: its kind, its size, and what decoding would hold.

Read before any decoder sees the file, so that a picture made to fill the memory is refused by its
head. Only JPEG and PNG are taken: the one is what phones send, the other what screens do.
"""

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import BinaryIO, Final

from app.domain.problems import NotAccepted

FIELD: Final = "picture"
MOST_JPEG_PIXELS: Final = 80_000_000
MOST_PNG_PIXELS: Final = 4_700_000
MOST_HELD_BYTES: Final = 52_000_000
"""What a decoder may have to hold of the whole picture at once."""
LEAST_DECODED: Final = 1280
"""A JPEG is decoded at a half, a quarter or an eighth while its long side keeps so many points."""
MOST_SCANS: Final = 32
_MOST_SEGMENTS: Final = 2_000

_EMPTY: Final = "This file is empty. Take the photograph again."
_WRONG_KIND: Final = (
    "This is no picture that can be kept here. Send a photograph as JPEG, or a picture as PNG."
)
_HEIC: Final = (
    "This picture is HEIC, which most programs cannot show. Set the phone's camera to JPEG (on an "
    "iPhone: Settings, Camera, Formats, Most Compatible) and take it again."
)
_TOO_MANY: Final = (
    "This picture is {width:,} by {height:,} points, more than can be handled here. Make it "
    "smaller and send it again."
)
_TOO_HEAVY: Final = (
    "This picture is packed in a way that takes too much memory to open. Open it on the phone or a "
    "PC, save it smaller as JPEG, and send that."
)
DAMAGED: Final = "This picture is damaged or was cut short. Take or send it again."

_JPEG: Final = b"\xff\xd8\xff"
_PNG: Final = b"\x89PNG\r\n\x1a\n"
_PNG_HEAD: Final = struct.Struct(">I4sII")
_HEIC_BRANDS: Final = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif")
_FRAMES: Final = {0xC0, 0xC1, 0xC2}
_OTHER_FRAMES: Final = {0xC3, 0xC5, 0xC6, 0xC7, 0xC9, 0xCA, 0xCB, 0xCD, 0xCE, 0xCF}
_PROGRESSIVE: Final = 0xC2
_SCAN: Final = 0xDA
_BARE: Final = {0x01, *range(0xD0, 0xD8)}
_PIECE: Final = 64 * 1024
# A decoder keeps two bytes for each sample of a picture that comes in several scans.
_SAMPLE_BYTES: Final = 2
_PIXEL_BYTES: Final = 4


class PictureKind(StrEnum):
    """The kinds of picture that are taken."""

    JPEG = "JPEG"
    PNG = "PNG"


@dataclass(frozen=True, kw_only=True)
class PictureHead:
    """The kind of a picture, its size in points, and how many bytes decoding it holds at once."""

    kind: PictureKind
    width: int
    height: int
    held_bytes: int


@dataclass(frozen=True, kw_only=True)
class _Frame:
    """What a JPEG says of its picture; `samples` are those of all colours."""

    width: int
    height: int
    colours: int
    samples: int
    progressive: bool


def read_picture_head(stream: BinaryIO) -> PictureHead:
    """Return what a picture says of itself; the stream is back at its beginning.

    Raises:
        NotAccepted: it is empty, of another kind, cut short, or would take too much to open.
    """
    stream.seek(0)
    first = stream.read(32)
    if not first:
        raise NotAccepted.at(FIELD, _EMPTY)
    try:
        head = _head(stream, first)
    except struct.error as error:
        raise NotAccepted.at(FIELD, DAMAGED) from error
    finally:
        stream.seek(0)
    if not head.width or not head.height:
        raise NotAccepted.at(FIELD, DAMAGED)
    most = MOST_JPEG_PIXELS if head.kind is PictureKind.JPEG else MOST_PNG_PIXELS
    if head.width * head.height > most:
        sentence = _TOO_MANY.format(width=head.width, height=head.height)
        raise NotAccepted.at(FIELD, sentence)
    if head.held_bytes > MOST_HELD_BYTES:
        raise NotAccepted.at(FIELD, _TOO_HEAVY)
    return head


def _head(stream: BinaryIO, first: bytes) -> PictureHead:
    if first.startswith(_JPEG):
        return _jpeg_head(stream)
    if first.startswith(_PNG):
        _, name, width, height = _PNG_HEAD.unpack_from(first, len(_PNG))
        if name != b"IHDR":
            raise NotAccepted.at(FIELD, DAMAGED)
        held = width * height * _PIXEL_BYTES
        return PictureHead(kind=PictureKind.PNG, width=width, height=height, held_bytes=held)
    if first[4:8] == b"ftyp" and first[8:12] in _HEIC_BRANDS:
        raise NotAccepted.at(FIELD, _HEIC)
    raise NotAccepted.at(FIELD, _WRONG_KIND)


def _jpeg_head(stream: BinaryIO) -> PictureHead:
    """Return the head of a JPEG (ITU-T T.81, annex B: markers, segments, frame and scan)."""
    frame = None
    for marker, body in _segments(stream):
        if marker in _OTHER_FRAMES:
            raise NotAccepted.at(FIELD, _TOO_HEAVY)
        if marker in _FRAMES:
            frame = _frame(body, progressive=marker == _PROGRESSIVE)
        if marker == _SCAN:
            if frame is None:
                break
            return PictureHead(
                kind=PictureKind.JPEG,
                width=frame.width,
                height=frame.height,
                held_bytes=_kept_by_scans(stream, frame, scanned=body[0] if body else 0)
                + _decoded_bytes(frame),
            )
    raise NotAccepted.at(FIELD, DAMAGED)


def _segments(stream: BinaryIO) -> Iterator[tuple[int, bytes]]:
    """Yield each marker with what its segment holds, up to the first scan."""
    stream.seek(2)
    for _ in range(_MOST_SEGMENTS):
        lead, marker = struct.unpack(">BB", stream.read(2))
        while lead == marker == 0xFF:
            (marker,) = struct.unpack(">B", stream.read(1))
        if lead != 0xFF:
            return
        if marker in _BARE:
            continue
        (length,) = struct.unpack(">H", stream.read(2))
        yield marker, stream.read(max(length - 2, 0))
        if marker == _SCAN:
            return


def _frame(body: bytes, *, progressive: bool) -> _Frame:
    _, height, width, colours = struct.unpack_from(">BHHB", body)
    shares = [struct.unpack_from("BBB", body, 6 + 3 * place)[1] for place in range(colours)]
    across = max((share >> 4 for share in shares), default=1) or 1
    down = max((share & 15 for share in shares), default=1) or 1
    samples = sum(width * height * (share >> 4) * (share & 15) for share in shares)
    return _Frame(
        width=width,
        height=height,
        colours=colours,
        samples=samples // (across * down),
        progressive=progressive,
    )


def _decoded_bytes(frame: _Frame) -> int:
    """Return what the picture takes once decoded at the share that leaves enough points."""
    share = min(8, max(1, max(frame.width, frame.height) // LEAST_DECODED))
    share = 1 << (share.bit_length() - 1)
    return -(-frame.width // share) * -(-frame.height // share) * _PIXEL_BYTES


def _kept_by_scans(stream: BinaryIO, frame: _Frame, *, scanned: int) -> int:
    """Return what the decoder keeps between scans: nothing if one scan brings the whole picture."""
    if not frame.progressive and scanned == frame.colours:
        return 0
    if _count_scans(stream) > MOST_SCANS:
        raise NotAccepted.at(FIELD, _TOO_HEAVY)
    return frame.samples * _SAMPLE_BYTES


def _count_scans(stream: BinaryIO) -> int:
    """Return how many scans follow; within the data of a scan this marker cannot stand."""
    mark = bytes((0xFF, _SCAN))
    found, end = 0, b""
    while piece := stream.read(_PIECE):
        found += (end + piece).count(mark)
        end = piece[-1:]
    return found
