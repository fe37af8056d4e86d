"""What holds for every zip from a stranger: its parts are counted before they are unpacked."""

import zipfile
import zlib
from collections.abc import Generator
from typing import Final

PIECE: Final = 4 * 1024
# What opening or unpacking a damaged zip raises; RuntimeError also for a way of packing that
# Python does not know.
DAMAGED: Final = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    OSError,
    RuntimeError,
    ValueError,
)
_ENCRYPTED: Final = 0x1


class TooLarge(Exception):
    """The zip holds more parts, or unpacks to more, than it may."""


class Locked(Exception):
    """A part of the zip is locked with a password."""


def count_entries(archive: zipfile.ZipFile, *, limit: int) -> list[zipfile.ZipInfo]:
    """Return the parts of a zip.

    Raises:
        TooLarge: there are more than `limit`.
        Locked: one of them has a password.
    """
    entries = archive.infolist()
    if len(entries) > limit:
        raise TooLarge
    if any(entry.flag_bits & _ENCRYPTED for entry in entries):
        raise Locked
    return entries


def unpack(
    archive: zipfile.ZipFile, *, entry: zipfile.ZipInfo | str, limit: int
) -> Generator[bytes, None, None]:
    """Yield a part in pieces, counting what really comes out.

    Raises:
        TooLarge: more than `limit` bytes come out.
    """
    left = limit
    with archive.open(entry) as file:
        while piece := file.read(PIECE):
            left -= len(piece)
            if left < 0:
                raise TooLarge
            yield piece
