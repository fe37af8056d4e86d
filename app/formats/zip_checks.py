"""Opens a zip from a stranger without trusting a word of its directory.

Everything is unpacked with a running count and only plain XML parts are handed on, so that what
reads them later never sees the file that was sent.
"""

import io
import zipfile
import zlib
from typing import Final

from app.domain.problems import NotAccepted

FIELD: Final = "sheet"
ENTRY_LIMIT: Final = 200
UNPACKED_LIMIT: Final = 30 * 1024 * 1024
_MAGIC: Final = b"PK\x03\x04"
_PIECE: Final = 64 * 1024
_ENCRYPTED: Final = 0x1
_DAMAGED: Final = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    OSError,
    RuntimeError,  # also what a way of packing that Python does not know raises
    ValueError,
)


def unpack_xml(data: bytes, *, wanted: tuple[str, ...]) -> dict[str, bytes]:
    """Return name -> content of the XML parts whose names begin with one of `wanted`.

    Raises:
        NotAccepted: it is no zip, is damaged or locked with a password, holds more than
            `ENTRY_LIMIT` parts, or unpacks to more than `UNPACKED_LIMIT` bytes.
    """
    if not data.startswith(_MAGIC):
        raise NotAccepted.at(FIELD, _not_xlsx())
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return _unpack(archive, wanted=wanted)
    except _DAMAGED as error:
        raise NotAccepted.at(FIELD, _damaged()) from error


def _unpack(archive: zipfile.ZipFile, *, wanted: tuple[str, ...]) -> dict[str, bytes]:
    entries = archive.infolist()
    if len(entries) > ENTRY_LIMIT:
        raise NotAccepted.at(FIELD, _too_large())
    if any(entry.flag_bits & _ENCRYPTED for entry in entries):
        raise NotAccepted.at(FIELD, "This sheet has a password. Save it without one.")
    parts: dict[str, bytes] = {}
    left = UNPACKED_LIMIT
    for entry in entries:
        if not entry.filename.startswith(wanted) or not _is_xml(entry.filename):
            continue
        if entry.filename in parts:
            raise NotAccepted.at(FIELD, _damaged())
        parts[entry.filename] = _unpack_entry(archive, entry, limit=left)
        left -= len(parts[entry.filename])
    return parts


def _unpack_entry(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, *, limit: int) -> bytes:
    content = bytearray()
    with archive.open(entry) as file:
        while piece := file.read(_PIECE):
            content += piece
            if len(content) > limit:
                raise NotAccepted.at(FIELD, _too_large())
    return bytes(content)


def _is_xml(name: str) -> bool:
    return name.lower().endswith((".xml", ".rels"))


def _not_xlsx() -> str:
    return (
        "This file is not an .xlsx sheet (an old .xls or a sheet with a password looks like this"
        " too). Save it as .xlsx without a password, or as CSV."
    )


def _damaged() -> str:
    return "This .xlsx file is damaged or cut short. Save the sheet again and choose it anew."


def _too_large() -> str:
    return "This .xlsx file unpacks to more than a notebook can be. Save the sheet as CSV."
