import io
import time
from collections.abc import Callable, Sequence
from datetime import date, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.domain.problems import NotAccepted
from app.formats.cells import Cell
from app.formats.xlsx_sheets import read_xlsx, write_xlsx
from tests.formats import hostile_files


def written(rows: Sequence[Sequence[Cell]]) -> bytes:
    target = io.BytesIO()
    write_xlsx(rows, target=target)
    return target.getvalue()


def cells_of(data: bytes, *, row_limit: int = 5_000) -> list[tuple[str, ...]]:
    return [line.cells for line in read_xlsx(data, row_limit=row_limit)]


def sentence_of(data: bytes, *, row_limit: int = 5_000) -> str:
    with pytest.raises(NotAccepted) as refused:
        list(read_xlsx(data, row_limit=row_limit))
    return refused.value.problems[0].sentence


def test_days_and_whole_numbers_read_as_typed() -> None:
    day = date(2026, 5, 3)
    data = written(
        [
            ["a", "b", "c", "d"],
            [day, 240, -3, 0.65],
            [datetime.fromisoformat("2026-05-03"), "x", "-3", None],
        ]
    )
    assert cells_of(data)[1:] == [
        ("2026-05-03", "240", "-3", "0.65"),
        ("2026-05-03", "x", "-3", ""),
    ]


def test_texts_never_become_formulas_or_links() -> None:
    rows: list[list[Cell]] = [["batch", "note"], ["=1+1", "https://example.org"]]
    data = written(rows)
    assert cells_of(data)[1] == ("=1+1", "https://example.org")
    parts = hostile_files.parts_of(data)
    assert b"<f>" not in parts["xl/worksheets/sheet1.xml"]
    assert b"'=1+1" in parts["xl/worksheets/sheet1.xml"]


def test_comments_and_empty_lines_are_passed_and_counted() -> None:
    rows: list[list[Cell]] = [["# a comment"], [None], ["batch"], ["A"], [None], ["B"]]
    lines = list(read_xlsx(written(rows), row_limit=10))
    assert [(line.number, line.cells[0]) for line in lines] == [(3, "batch"), (4, "A"), (6, "B")]


TEXTS = st.text(st.characters(exclude_categories=["Cs", "Cc", "Cn"]), max_size=40)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.lists(TEXTS, min_size=2, max_size=2), max_size=5))
def test_what_is_written_reads_back_the_same(rows: list[list[str]]) -> None:
    data = written([["batch", "note"], *[list(row) for row in rows]])
    assert cells_of(data)[1:] == [tuple(row) for row in rows if any(row)]


def test_writes_to_a_path_too(tmp_path: Path) -> None:
    write_xlsx([["batch"], ["A"]], target=tmp_path / "notebook.xlsx")
    assert cells_of((tmp_path / "notebook.xlsx").read_bytes()) == [("batch",), ("A",)]


def test_more_than_a_cell_can_hold_is_said_and_not_cut() -> None:
    with pytest.raises(NotAccepted, match=r"Export it as \.csv"):
        written([["x" * 40_000]])


HOSTILE: list[tuple[Callable[[], bytes], str]] = [
    (hostile_files.far_cell, "far outside the lines"),
    (hostile_files.far_row_without_places, "far outside the lines"),
    (hostile_files.far_column_without_places, "far outside the lines"),
    (hostile_files.bomb, "unpacks to more"),
    (hostile_files.element_bomb, "more than a notebook"),
    (hostile_files.text_bomb, "more than a notebook"),
    (hostile_files.promised_memory, "not written by a spreadsheet program"),
    (hostile_files.entity_bomb, "not written by a spreadsheet program"),
    (hostile_files.wide_characters, "not written by a spreadsheet program"),
    (hostile_files.many_parts, "unpacks to more"),
    (hostile_files.truncated, "damaged or cut short"),
    (hostile_files.damaged_part, "damaged or cut short"),
    (hostile_files.too_large, "larger than 2 MB"),
    (hostile_files.another_zip, "not an .xlsx sheet"),
    (bytes, "not an .xlsx sheet"),
    (lambda: b"\xd0\xcf\x11\xe0 an old workbook", "old .xls"),
    (lambda: b"batch,plant\r\n", "not an .xlsx sheet"),
]


@pytest.fixture(scope="module")
def honest_sheet_s() -> float:
    """How long an honest sheet of 5,000 full lines takes to read here and now, in CPU seconds."""
    data = written([["batch"] * 21, *([f"cell {n}"] * 21 for n in range(5_000))])
    begun = time.process_time()
    assert len(cells_of(data, row_limit=5_000)) == 5_001
    return time.process_time() - begun


@pytest.mark.parametrize(("build", "expected"), HOSTILE)
def test_hostile_files_are_refused_in_a_sentence_and_soon(
    build: Callable[[], bytes], expected: str, honest_sheet_s: float
) -> None:
    data = build()
    begun = time.process_time()
    assert expected in sentence_of(data)
    # Beside an honest sheet in the same run: a PC that is busy slows both.
    assert time.process_time() - begun < 4 * honest_sheet_s


def test_one_line_too_many_is_refused() -> None:
    rows: list[list[Cell]] = [["batch"], ["A"], ["A"], ["A"], ["A"]]
    assert len(cells_of(written(rows), row_limit=4)) == 5
    assert "more than 3 lines" in sentence_of(written(rows), row_limit=3)


def test_an_empty_sheet_says_so() -> None:
    assert "empty" in sentence_of(written([]))
