"""Sheets of an archive: rows there and back, and a change found by its line."""

import csv
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.domain.archives import ArchivedColumn, ArchivedTable, CellKind
from app.formats.archive_sheets import NotCarried, SheetReader, SheetWriter, SheetWrong
from tests.formats.test_archive_cells import NASTY

TABLE = ArchivedTable(
    name="things",
    columns=(
        ArchivedColumn(name="id", kind=CellKind.INTEGER, required=True),
        ArchivedColumn(name="words", kind=CellKind.TEXT, required=False),
        ArchivedColumn(name="share", kind=CellKind.NUMBER, required=False),
    ),
    key=("id",),
)
ROWS = [(1, "first", 0.1), (2, "two\r\nlines", None), (3, None, -1.5), (4, "", 2.0)]
Row = tuple[Any, ...]


def written(rows: Sequence[Row]) -> tuple[bytes, SheetWriter]:
    writer = SheetWriter(TABLE)
    return b"".join(writer.pieces(rows)), writer


def read(data: bytes, writer: SheetWriter, *, size: int = 7) -> list[Row]:
    pieces = [data[place : place + size] for place in range(0, len(data), size)]
    return list(SheetReader(TABLE, seal=writer.seal).rows(pieces, marks=[writer.marks]))


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(0, 9), st.none() | NASTY, st.none() | st.floats(0, 1))))
def test_rows_come_back(rows: list[Row]) -> None:
    data, writer = written(rows)
    assert read(data, writer) == rows


def test_a_sheet_is_csv_that_another_reader_reads() -> None:
    # RFC 4180, as the standard library's reader takes it.
    data, _ = written(ROWS)
    lines = list(csv.reader(data.decode().splitlines(keepends=True)))
    assert lines[0] == ["id", "words", "share"]
    assert lines[2] == ["2", "two\r\nlines", "\\N"]


@pytest.mark.parametrize("place", range(2, 6))
def test_a_changed_cell_is_found_by_its_line(place: int) -> None:
    data, writer = written(ROWS)
    changed = data.replace(f"\r\n{place - 1},".encode(), f"\r\n{place + 7},".encode(), 1)
    assert changed != data
    with pytest.raises(SheetWrong, match=f"In the sheet things, line {place} is not"):
        read(changed, writer)


def test_every_changed_byte_is_noticed() -> None:
    data, writer = written(ROWS)
    for place in range(len(data)):
        changed = bytearray(data)
        changed[place] ^= 1
        with pytest.raises(SheetWrong, match=r"In the sheet things, line|The sheet things"):
            read(bytes(changed), writer)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda data: data[: data.rindex(b"4,")], "line 4 is the last one; others are missing"),
        (lambda data: data + b"5,more,0.5\r\n", "line 6 is not what was archived"),
        (lambda data: data.replace(b"words", b"notes"), "line 1 does not name the columns"),
        (lambda data: data.replace(b"first", b"fi\xffrst"), "line 1 and what follows is damaged"),
        (lambda data: data.replace(b'"two', b"two"), "line 3 is not what was archived"),
    ],
)
def test_lines_added_missing_or_broken_are_refused(change: Any, words: str) -> None:
    data, writer = written(ROWS)
    with pytest.raises(SheetWrong, match=words):
        read(change(data), writer, size=10_000)


def test_a_damaged_value_is_named_by_its_place() -> None:
    with pytest.raises(NotCarried, match="words in row 7 of things is damaged, it holds a NUL"):
        written([(7, "a\x00b", None)])


def test_long_cells_are_read_and_the_limit_of_others_stays() -> None:
    before = csv.field_size_limit()
    rows: list[Row] = [(1, "x" * (before + 1), None)]
    data, writer = written(rows)
    assert read(data, writer, size=4096) == rows
    assert csv.field_size_limit() == before
