"""Cells of an archive: each stored value as text and back, nothing lost and nothing guessed.

Nothing stored is written \\N. Text that begins with a backslash, or with what a spreadsheet would
take for a formula, gets a backslash in front: so empty text, the marker itself and formulas are
told apart and harmless. Floats are written with the fewest digits that give the same float.
"""

import base64
import binascii
import json
import math
import re
from collections.abc import Callable
from datetime import date, datetime
from typing import Any, Final, TypeAlias

from app.domain.archives import CellKind

Stored: TypeAlias = "str | int | float | bytes | None"
NOTHING: Final = "\\N"
_ESCAPE: Final = "\\"
_ESCAPED: Final = ("\\", "=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
_DATE: Final = re.compile(r"\d{4}-\d\d-\d\d")
_INSTANT: Final = re.compile(r"(\d{4}-\d\d-\d\d)T(\d\d:\d\d:\d\d(?:\.\d{1,6})?)Z")
_STORED_INSTANT: Final = re.compile(r"(\d{4}-\d\d-\d\d) (\d\d:\d\d:\d\d(?:\.\d{1,6})?)")
_INTEGER: Final = re.compile(r"0|-?[1-9]\d{0,18}")
_FLAGS: Final = {"true": 1, "false": 0}
_INFINITE: Final = {"INF": math.inf, "-INF": -math.inf}
_INTEGER_LIMIT: Final = 2**63
# What XML and JSON tools, and most readers of CSV, cannot take.
_FORBIDDEN: Final = "\x00"


class BadCell(Exception):
    """Why a value is not one of its column's kind, in words that end a sentence."""


def write_cell(value: Stored, *, kind: CellKind) -> str:
    """Return a stored value as the text of a cell.

    Raises:
        BadCell: the value is not of this kind, or holds a NUL character.
    """
    return NOTHING if value is None else _WRITERS[kind](value)


def read_cell(text: str, *, kind: CellKind) -> Stored:
    """Return the stored value that a cell's text stands for.

    Raises:
        BadCell: no value of this kind is written so.
    """
    return None if text == NOTHING else _READERS[kind](text)


def _write_integer(value: Stored) -> str:
    if type(value) is not int:
        raise BadCell("it is not a whole number")
    return str(value)


def _read_integer(text: str) -> int:
    if not _INTEGER.fullmatch(text) or not -_INTEGER_LIMIT <= int(text) < _INTEGER_LIMIT:
        raise BadCell("it is not a whole number")
    return int(text)


def _write_number(value: Stored) -> str:
    if type(value) is not float:
        raise BadCell("it is not a number")
    if math.isinf(value):
        return "INF" if value > 0 else "-INF"
    return repr(value)


def _read_number(text: str) -> float:
    if text in _INFINITE:
        return _INFINITE[text]
    try:
        value = float(text)
    except ValueError as error:
        raise BadCell("it is not a number") from error
    if repr(value) != text or not math.isfinite(value):
        raise BadCell("it is not a number as it would be written")
    return value


def _write_text(value: Stored) -> str:
    if not isinstance(value, str):
        raise BadCell("it is not text")
    if _FORBIDDEN in value:
        raise BadCell("it holds a NUL character, which a sheet cannot hold")
    return _ESCAPE + value if value.startswith(_ESCAPED) else value


def _read_text(text: str) -> str:
    if _FORBIDDEN in text:
        raise BadCell("it holds a NUL character")
    bare = text.removeprefix(_ESCAPE)
    if text.startswith(_ESCAPED) and (bare == text or not bare.startswith(_ESCAPED)):
        raise BadCell("it begins with a sign that needs a backslash before it, or not")
    return bare


def _write_flag(value: Stored) -> str:
    for word, flag in _FLAGS.items():
        if type(value) is int and value == flag:
            return word
    raise BadCell("it is neither yes nor no")


def _read_flag(text: str) -> int:
    if text not in _FLAGS:
        raise BadCell("it is neither true nor false")
    return _FLAGS[text]


def _write_date(value: Stored) -> str:
    if not isinstance(value, str):
        raise BadCell("it is not a date")
    return _read_date(value)


def _read_date(text: str) -> str:
    if not _DATE.fullmatch(text) or not _exists(date.fromisoformat, text):
        raise BadCell("it is not a date")
    return text


def _write_instant(value: Stored) -> str:
    found = _STORED_INSTANT.fullmatch(value) if isinstance(value, str) else None
    if found is None or not _exists(datetime.fromisoformat, found[0]):
        raise BadCell("it is not an instant")
    return f"{found[1]}T{found[2]}Z"


def _read_instant(text: str) -> str:
    found = _INSTANT.fullmatch(text)
    if found is None or not _exists(datetime.fromisoformat, f"{found[1]} {found[2]}"):
        raise BadCell("it is not an instant")
    return f"{found[1]} {found[2]}"


def _exists(read: Callable[[str], Any], text: str) -> bool:
    # Fractions of other lengths than 3 and 6 digits are read by this Python too; the day decides.
    try:
        read(text)
    except ValueError:
        return False
    return True


def _keep_json(text: Stored) -> str:
    if not isinstance(text, str) or text[:1] not in {"[", "{"} or _FORBIDDEN in text:
        raise BadCell("it is not a list or a record in JSON")
    try:
        json.loads(text)
    except (ValueError, RecursionError) as error:
        raise BadCell("it is not JSON") from error
    return text


def _write_bytes(value: Stored) -> str:
    if not isinstance(value, bytes):
        raise BadCell("it is not a run of bytes")
    return base64.b64encode(value).decode("ascii")


def _read_bytes(text: str) -> bytes:
    try:
        value = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError) as error:
        raise BadCell("it is not a run of bytes in base64") from error
    if _write_bytes(value) != text:
        raise BadCell("it is not a run of bytes as it would be written")
    return value


_WRITERS: Final[dict[CellKind, Callable[[Stored], str]]] = {
    CellKind.INTEGER: _write_integer,
    CellKind.NUMBER: _write_number,
    CellKind.TEXT: _write_text,
    CellKind.FLAG: _write_flag,
    CellKind.DATE: _write_date,
    CellKind.INSTANT: _write_instant,
    CellKind.JSON: _keep_json,
    CellKind.BYTES: _write_bytes,
}
_READERS: Final[dict[CellKind, Callable[[str], Stored]]] = {
    CellKind.INTEGER: _read_integer,
    CellKind.NUMBER: _read_number,
    CellKind.TEXT: _read_text,
    CellKind.FLAG: _read_flag,
    CellKind.DATE: _read_date,
    CellKind.INSTANT: _read_instant,
    CellKind.JSON: _keep_json,
    CellKind.BYTES: _read_bytes,
}
