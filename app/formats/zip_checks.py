"""Opens a zip from a stranger without trusting a word of its directory.

Everything is unpacked with a running count and only plain XML parts are handed on, so that what
reads them later never sees the file that was sent.
"""

import io
import zipfile
from typing import Final

from app.domain.problems import NotAccepted
from app.formats.zip_limits import DAMAGED, Locked, TooLarge, count_entries, unpack

FIELD: Final = "sheet"
ENTRY_LIMIT: Final = 200
UNPACKED_LIMIT: Final = 30 * 1024 * 1024
_MAGIC: Final = b"PK\x03\x04"


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
    except TooLarge as error:
        raise NotAccepted.at(FIELD, _too_large()) from error
    except Locked as error:
        sentence = "This sheet has a password. Save it without one."
        raise NotAccepted.at(FIELD, sentence) from error
    except DAMAGED as error:
        raise NotAccepted.at(FIELD, _damaged()) from error


def _unpack(archive: zipfile.ZipFile, *, wanted: tuple[str, ...]) -> dict[str, bytes]:
    parts: dict[str, bytes] = {}
    left = UNPACKED_LIMIT
    for entry in count_entries(archive, limit=ENTRY_LIMIT):
        if not entry.filename.startswith(wanted) or not _is_xml(entry.filename):
            continue
        if entry.filename in parts:
            raise NotAccepted.at(FIELD, _damaged())
        parts[entry.filename] = b"".join(unpack(archive, entry=entry, limit=left))
        left -= len(parts[entry.filename])
    return parts


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
