"""CSV as RFC 4180 lays it out: bytes to numbered lines, and rows to bytes.

What spreadsheets do beside the standard is taken too: a byte order mark, Windows' own character
set, semicolons or tabs between cells, a first line "sep=;", and comment lines that start with #
before the header.
"""

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from app.domain.problems import NotAccepted
from app.domain.sheet_lines import SheetLine
from app.formats.cells import Cell, typed_text
from app.formats.formula_guard import guard, unguard

FIELD: Final = "sheet"
BYTE_ORDER_MARK: Final = b"\xef\xbb\xbf"
_WIDE_MARKS: Final = (b"\xff\xfe", b"\xfe\xff")
_DELIMITERS: Final = (",", ";", "\t")
_CHUNK_CHARACTERS: Final = 64 * 1024
_SEPARATOR_LINE: Final = "sep="


def read_csv(data: bytes, *, row_limit: int) -> Iterator[SheetLine]:
    """Yield the lines that hold anything, the header first, numbered as a spreadsheet shows them.

    Raises:
        NotAccepted: it is not text, a quotation mark is not closed, or it has more than
            `row_limit` lines below its header.
    """
    text = _decoded(data)
    start, comments, delimiter = _find_header(text)
    rows = csv.reader(io.StringIO(text[start:], newline=""), delimiter=delimiter, strict=True)
    taken = 0
    number = comments
    try:
        for row in rows:
            number += 1
            if not any(row):
                continue
            taken += 1
            if taken > row_limit + 1:
                raise NotAccepted.at(FIELD, too_many_lines(row_limit))
            yield SheetLine(number=number, cells=tuple(map(unguard, row)))
    except csv.Error as error:
        raise NotAccepted.at(FIELD, _broken_quote(number + 1)) from error


def too_many_lines(row_limit: int) -> str:
    """Return the sentence for a sheet that is longer than it may be here."""
    return (
        f"This sheet has more than {row_limit:,} lines. Split it, or read it in on the nursery's PC"
        " with the command strikewell import."
    )


def csv_chunks(rows: Iterable[Sequence[Cell]], *, mark: bool = True) -> Iterator[bytes]:
    """Yield the rows as CSV in UTF-8 with CRLF, in pieces of about 64 kB, texts guarded.

    `mark` puts a byte order mark first, by which spreadsheets know the character set.
    """
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer, lineterminator="\r\n")
    if mark:
        yield BYTE_ORDER_MARK
    for row in rows:
        writer.writerow([_written(cell) for cell in row])
        if buffer.tell() > _CHUNK_CHARACTERS:
            yield _taken_out(buffer)
    yield _taken_out(buffer)


def _written(cell: Cell) -> str:
    return guard(cell) if isinstance(cell, str) else typed_text(cell)


def _taken_out(buffer: io.StringIO) -> bytes:
    piece = buffer.getvalue().encode("utf-8")
    buffer.seek(0)
    buffer.truncate()
    return piece


def _decoded(data: bytes) -> str:
    if not data.strip():
        raise NotAccepted.at(FIELD, "This file is empty. Save the sheet again and choose it anew.")
    if data.startswith(_WIDE_MARKS):
        return _decoded_as(data, "utf-16")
    if b"\x00" in data:
        raise NotAccepted.at(FIELD, _not_text())
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return _decoded_as(data, "cp1252")


def _decoded_as(data: bytes, encoding: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        raise NotAccepted.at(FIELD, _not_text()) from error


def _not_text() -> str:
    return "This file is not a CSV sheet. Save it as CSV UTF-8 or as .xlsx and choose it again."


def _broken_quote(number: int) -> str:
    return (
        f"From line {number} on a quotation mark is opened and not closed, or a cell is far too"
        " long. Mend that line and choose the file again."
    )


def _find_header(text: str) -> tuple[int, int, str]:
    """Return where the header begins, how many lines stand before it, and what divides cells."""
    start = 0
    told = ""
    for passed, line in enumerate(io.StringIO(text, newline="")):
        bare = line.rstrip("\r\n").lstrip('" ')
        if bare[:4].lower() == _SEPARATOR_LINE and len(bare) == len(_SEPARATOR_LINE) + 1:
            told = bare[-1]
        elif bare.strip(",;\t ") and not bare.startswith("#"):
            return start, passed, told or _likeliest_delimiter(line)
        start += len(line)
    raise NotAccepted.at(FIELD, "This sheet has no header. Put the names of the columns first.")


def _likeliest_delimiter(header: str) -> str:
    outside_quotes = "".join(header.split('"')[::2])
    return max(_DELIMITERS, key=outside_quotes.count)
