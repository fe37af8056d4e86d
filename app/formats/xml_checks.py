"""Measures the XML parts of a spreadsheet before anything builds cells from them.

A few kilobytes can name a cell a million rows away, or repeat one long text in every cell; both
would fill the memory of the PC. Here every part is walked once, counting, and refused in time.
"""

import re
from typing import Final
from xml.parsers import expat

from app.domain.problems import NotAccepted

FIELD: Final = "sheet"
COLUMN_LIMIT: Final = 64
ELEMENT_LIMIT: Final = 1_000_000
TEXT_LIMIT: Final = 30 * 1024 * 1024
_PLACE: Final = re.compile(r"([A-Za-z]{1,3})?([0-9]{1,7})")
# Readers set memory aside by these numbers before they have seen what follows.
_PROMISES: Final = ("count", "uniqueCount")
_TEXT_CELL: Final = "s"


def measure_part(
    content: bytes, *, shared: tuple[int, ...] = (), row_limit: int
) -> tuple[int, ...]:
    """Return the lengths of the shared texts in one XML part that was found harmless.

    `shared` are the lengths of the texts its cells may refer to.

    Raises:
        NotAccepted: it declares a document type or a character set other than UTF-8, is not well
            formed, names a cell beyond `row_limit` rows or `COLUMN_LIMIT` columns, or holds more
            elements or text than the limits.
    """
    return _Walk(shared=shared, row_limit=row_limit).measure(content)


class _Walk:
    """One pass of the parser over one part."""

    def __init__(self, *, shared: tuple[int, ...], row_limit: int) -> None:
        self._known = shared
        self._row_limit = row_limit
        self._elements = 0
        self._text = 0
        self._lengths: list[int] = []
        self._row = 0
        self._column = 0
        self._refers = False
        self._typed: list[str] | None = None
        self._shared_length: int | None = None

    def measure(self, content: bytes) -> tuple[int, ...]:
        parser = expat.ParserCreate(encoding="utf-8")
        parser.buffer_text = True
        parser.StartDoctypeDeclHandler = _refuse_doctype
        parser.XmlDeclHandler = _refuse_other_encoding
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._characters
        try:
            parser.Parse(content, True)  # noqa: FBT003 - the parser takes no keywords
        except expat.ExpatError as error:
            raise NotAccepted.at(FIELD, _damaged()) from error
        return tuple(self._lengths)

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        # Called for every element of a file that may hold nothing else: what is rare comes last.
        self._elements += 1
        if self._elements > ELEMENT_LIMIT:
            raise NotAccepted.at(FIELD, _too_much())
        if attributes:
            _refuse_promises(attributes)
        local = name if ":" not in name else _local(name)
        if local == "c":
            self._refers = attributes.get("t") == _TEXT_CELL
            self._enter_cell(attributes.get("r"))
        elif local == "row":
            self._enter_row(attributes.get("r"))
        elif local == "v":
            self._typed = []
        elif local == "si":
            self._shared_length = 0

    def _characters(self, text: str) -> None:
        self._text += len(text)
        if self._typed is not None:
            self._typed.append(text)
        if self._shared_length is not None:
            self._shared_length += len(text)

    def _end(self, name: str) -> None:
        local = _local(name)
        if local == "v":
            if self._refers:
                self._text += self._length_of("".join(self._typed or ()))
            self._typed = None
            self._keep_within()
        elif local == "si":
            self._lengths.append(self._shared_length or 0)
            self._shared_length = None

    def _length_of(self, index: str) -> int:
        number = _whole_number(index.strip())
        if number is None or number >= len(self._known):
            raise NotAccepted.at(FIELD, _damaged())
        return self._known[number]

    def _enter_row(self, reference: str | None) -> None:
        # A row or a cell without a place of its own stands after the one before it.
        self._row = self._row + 1 if reference is None else int(_placed(reference)[1])
        self._column = 0
        self._stay_near(f"row {self._row}")

    def _enter_cell(self, reference: str | None) -> None:
        if reference is None:
            self._column += 1
        else:
            letters, digits = _placed(reference)
            self._row, self._column = int(digits), _column_number(letters)
        self._stay_near(reference or f"row {self._row}")

    def _stay_near(self, place: str) -> None:
        if self._row > self._row_limit or self._column > COLUMN_LIMIT:
            raise NotAccepted.at(
                FIELD,
                f"This sheet has something in {place}, far outside the lines. Clear everything"
                " below and beside them, or save the sheet as CSV.",
            )

    def _keep_within(self) -> None:
        if self._text > TEXT_LIMIT:
            raise NotAccepted.at(FIELD, _too_much())


def _refuse_promises(attributes: dict[str, str]) -> None:
    for told in _PROMISES:
        if told in attributes and _whole_number(attributes[told]) is None:
            raise NotAccepted.at(FIELD, _damaged())


def _local(name: str) -> str:
    return name.rpartition(":")[2]


def _whole_number(text: str) -> int | None:
    """Return the number if it is one that a sheet of the allowed size can mean."""
    if not text.isdecimal() or len(text) > len(str(ELEMENT_LIMIT)):
        return None
    return int(text) if int(text) <= ELEMENT_LIMIT else None


def _placed(reference: str) -> tuple[str, str]:
    """Return the letters and digits of a place such as C12; a row has no letters."""
    place = _PLACE.fullmatch(reference)
    if place is None:
        raise NotAccepted.at(FIELD, _damaged())
    return place[1] or "", place[2]


def _column_number(letters: str) -> int:
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


def _refuse_doctype(*_: object) -> None:
    raise NotAccepted.at(FIELD, _damaged())


def _refuse_other_encoding(_version: str, encoding: str | None, _standalone: int) -> None:
    if encoding is not None and encoding.lower() not in {"utf-8", "utf8", "us-ascii"}:
        raise NotAccepted.at(FIELD, _damaged())


def _too_much() -> str:
    return "This .xlsx file holds more than a notebook can. Save the sheet as CSV."


def _damaged() -> str:
    return (
        "This .xlsx file was not written by a spreadsheet program as it should be. Save the sheet"
        " again, or as CSV."
    )
