"""Sheets of an archive: rows to the bytes of a CSV file and back, each line with a mark.

The marks, one for each line below the header, only serve to find the line that was changed; that
a sheet is whole is said by the SHA-256 over all of it.
"""

import csv
import hashlib
import io
import zlib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any, Final

from app.domain.archives import ArchivedTable, SheetSeal
from app.formats.archive_cells import BadCell, read_cell, write_cell
from app.formats.zip_limits import DAMAGED, TooLarge

_CHUNK_CHARACTERS: Final = 64 * 1024
# A fit is one long cell; what is larger than this was not written by us.
_CELL_LIMIT: Final = 256 * 1024 * 1024
_BETWEEN: Final = "\x1f"
_MARK_LENGTH: Final = 9


class NotCarried(Exception):
    """A stored value that a sheet cannot hold; the message names where it stands."""


class SheetWrong(Exception):
    """A sheet that is not what was archived; the message names it, and the line if known."""


class SheetWriter:
    """Writes one table's rows as CSV and keeps what seals them."""

    def __init__(self, table: ArchivedTable) -> None:
        self._table = table
        self._digest = hashlib.sha256()
        self._size = 0
        self._rows = 0
        self._marks = io.BytesIO()

    def pieces(self, rows: Iterable[Sequence[Any]]) -> Iterator[bytes]:
        """Yield the sheet, header first, in pieces of about 64 kB.

        Raises:
            NotCarried: a value is not of its column's kind.
        """
        buffer = io.StringIO(newline="")
        writer = csv.writer(buffer, lineterminator="\r\n")
        writer.writerow(self._table.names)
        for row in rows:
            self._rows += 1
            cells = self._cells(row)
            writer.writerow(cells)
            self._marks.write(_mark(cells))
            if buffer.tell() > _CHUNK_CHARACTERS:
                yield self._taken_out(buffer)
        yield self._taken_out(buffer)

    @property
    def marks(self) -> bytes:
        """The mark of each line, once all pieces are written."""
        return self._marks.getvalue()

    @property
    def seal(self) -> SheetSeal:
        """What was written, once all pieces are."""
        return SheetSeal(
            table=self._table.name,
            rows=self._rows,
            size=self._size,
            sha256=self._digest.hexdigest(),
        )

    def _cells(self, row: Sequence[Any]) -> list[str]:
        cells = []
        for column, value in zip(self._table.columns, row, strict=True):
            try:
                cells.append(write_cell(value, kind=column.kind))
            except BadCell as error:
                key = ", ".join(str(row[self._table.names.index(name)]) for name in self._table.key)
                raise NotCarried(
                    f"The log cannot be archived: {column.name} in row {key} of {self._table.name} "
                    f"is damaged, {error}."
                ) from error
        return cells

    def _taken_out(self, buffer: io.StringIO) -> bytes:
        piece = buffer.getvalue().encode("utf-8")
        buffer.seek(0)
        buffer.truncate()
        self._digest.update(piece)
        self._size += len(piece)
        return piece


class SheetReader:
    """Reads one table's sheet from a stream of bytes and refuses what was not archived."""

    def __init__(self, table: ArchivedTable, *, seal: SheetSeal) -> None:
        self._table = table
        self._seal = seal

    def rows(self, pieces: Iterable[bytes], *, marks: Iterable[bytes]) -> Iterator[tuple[Any, ...]]:
        """Yield each row as it was stored; `marks` are the pieces of the file beside the sheet.

        Raises:
            SheetWrong: a byte differs from what was archived, or a line is missing or added.
        """
        counted = _Counted(pieces, limit=self._seal.size)
        expected = _cut(marks)
        number = 0
        try:
            with _long_cells():
                for number, cells in enumerate(_lines(counted), start=1):
                    if number == 1:
                        self._compare_header(cells)
                    else:
                        yield self._row(number, cells, mark=next(expected, b""))
        except (csv.Error, TooLarge, *DAMAGED) as error:
            raise self._wrong(number + 1, "and what follows is damaged") from error
        if number - 1 != self._seal.rows:
            raise self._wrong(number, "is the last one; others are missing")
        if (counted.size, counted.sha256) != (self._seal.size, self._seal.sha256):
            raise SheetWrong(f"The sheet {self._table.name} is not what was archived.")

    def _compare_header(self, cells: list[str]) -> None:
        if tuple(cells) != self._table.names:
            raise self._wrong(1, "does not name the columns that the table has")

    def _row(self, number: int, cells: list[str], *, mark: bytes) -> tuple[Any, ...]:
        if mark != _mark(cells):
            raise self._wrong(number, "is not what was archived")
        if len(cells) != len(self._table.columns):
            raise self._wrong(number, f"has {len(cells)} cells")
        return tuple(self._value(number, text, place=place) for place, text in enumerate(cells))

    def _value(self, number: int, text: str, *, place: int) -> Any:
        column = self._table.columns[place]
        try:
            return read_cell(text, kind=column.kind)
        except BadCell as error:
            raise self._wrong(number, f"has a wrong {column.name}: {error}") from error

    def _wrong(self, number: int, reason: str) -> SheetWrong:
        return SheetWrong(f"In the sheet {self._table.name}, line {number} {reason}.")


class _Counted:
    """A stream's bytes, counted and hashed as they pass."""

    def __init__(self, pieces: Iterable[bytes], *, limit: int) -> None:
        self._pieces = pieces
        self._limit = limit
        self._digest = hashlib.sha256()
        self.size = 0

    def __iter__(self) -> Iterator[bytes]:
        for piece in self._pieces:
            self.size += len(piece)
            self._digest.update(piece)
            yield piece
            if self.size > self._limit:
                # What follows is hashed by nobody: the size alone refuses the sheet.
                return

    @property
    def sha256(self) -> str:
        return self._digest.hexdigest()


def _lines(pieces: Iterable[bytes]) -> Iterator[list[str]]:
    text = io.TextIOWrapper(io.BufferedReader(_Raw(pieces)), encoding="utf-8", newline="")
    yield from csv.reader(text, strict=True)


class _Raw(io.RawIOBase):
    """The pieces as one readable stream."""

    def __init__(self, pieces: Iterable[bytes]) -> None:
        self._pieces = iter(pieces)
        self._left = b""

    def readable(self) -> bool:
        """Say that it can be read."""
        return True

    def readinto(self, buffer: Any) -> int:
        """Fill the buffer with what comes next and return how many bytes that were."""
        while not self._left:
            try:
                self._left = next(self._pieces)
            except StopIteration:
                return 0
        taken = self._left[: len(buffer)]
        self._left = self._left[len(taken) :]
        buffer[: len(taken)] = taken
        return len(taken)


@contextmanager
def _long_cells() -> Iterator[None]:
    # The limit belongs to the whole process, so that it is put back for other readers of CSV.
    before = csv.field_size_limit(_CELL_LIMIT)
    try:
        yield
    finally:
        csv.field_size_limit(before)


def _cut(pieces: Iterable[bytes]) -> Iterator[bytes]:
    left = b""
    for piece in pieces:
        left += piece
        whole = len(left) - len(left) % _MARK_LENGTH
        for start in range(0, whole, _MARK_LENGTH):
            yield left[start : start + _MARK_LENGTH]
        left = left[whole:]


def _mark(cells: Sequence[str]) -> bytes:
    return b"%08x\n" % zlib.crc32(_BETWEEN.join(cells).encode("utf-8", "surrogatepass"))
