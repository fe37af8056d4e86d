import csv
import io
from datetime import date
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.problems import NotAccepted
from app.formats.csv_sheets import csv_chunks, read_csv

if TYPE_CHECKING:
    from app.formats.cells import Cell


def cells_of(data: bytes, *, row_limit: int = 100) -> list[tuple[str, ...]]:
    return [line.cells for line in read_csv(data, row_limit=row_limit)]


def sentence_of(data: bytes, *, row_limit: int = 100) -> str:
    with pytest.raises(NotAccepted) as refused:
        list(read_csv(data, row_limit=row_limit))
    return refused.value.problems[0].sentence


LAST = "x" * 3


# RFC 4180, section 2, rules 1 to 7: the examples of the memo (CONFIRMED through Python's csv
# module, whose excel dialect follows it).
@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"aaa,bbb,ccc\r\nzzz,yyy,%s\r\n", [("aaa", "bbb", "ccc"), ("zzz", "yyy", LAST)]),
        (b"aaa,bbb,ccc\r\nzzz,yyy,%s", [("aaa", "bbb", "ccc"), ("zzz", "yyy", LAST)]),
        (b'"aaa","bbb","ccc"\r\nzzz,yyy,%s', [("aaa", "bbb", "ccc"), ("zzz", "yyy", LAST)]),
        (
            b'"aaa","b\r\nbb","ccc"\r\nzzz,yyy,%s',
            [("aaa", "b\r\nbb", "ccc"), ("zzz", "yyy", LAST)],
        ),
        (b'"aaa","b""bb","ccc"', [("aaa", 'b"bb', "ccc")]),
    ],
)
def test_reads_the_examples_of_rfc_4180(data: bytes, expected: list[tuple[str, ...]]) -> None:
    assert cells_of(data.replace(b"%s", LAST.encode())) == expected


def test_writes_as_rfc_4180_says() -> None:
    # RFC 4180, section 2, rules 5 to 7: quoted where needed, quotes doubled, CRLF after a line.
    rows = [['a "q" b', "c,d", "e\nf", "", "é"]]
    written = b"".join(csv_chunks(rows, mark=False)).decode()
    assert written == '"a ""q"" b","c,d","e\nf",,é\r\n'


def test_a_byte_order_mark_is_written_and_taken_off_again() -> None:
    written = b"".join(csv_chunks([["batch", "plant"]]))
    assert written.startswith(b"\xef\xbb\xbf")
    assert cells_of(written) == [("batch", "plant")]


@pytest.mark.parametrize(
    "data",
    [
        "batch;plant\r\n1;Tilia × europaea".encode(),
        "batch\tplant\n1\tTilia × europaea".encode("utf-8-sig"),
        "batch,plant\r1,Tilia × europaea".encode("cp1252"),
        "sep=;\r\nbatch;plant\r\n1;Tilia × europaea\r\n".encode(),
        "batch\tplant\r\n1\tTilia × europaea\r\n".encode("utf-16"),
    ],
)
def test_takes_what_spreadsheets_write_beside_the_standard(data: bytes) -> None:
    assert cells_of(data) == [("batch", "plant"), ("1", "Tilia × europaea")]


def test_comments_before_the_header_are_passed_and_counted() -> None:
    data = b'# notebook of 2026, "first"\n"# more, of it",,\n\nbatch,plant\nA,B\n#not,comment\n'
    lines = list(read_csv(data, row_limit=10))
    assert [(line.number, line.cells[0]) for line in lines] == [(4, "batch"), (5, "A"), (6, "#not")]


def test_numbers_are_those_a_spreadsheet_shows() -> None:
    data = b'batch,note\nA,"two\nlines"\n,\nB,x\n'
    assert [line.number for line in read_csv(data, row_limit=10)] == [1, 2, 4]


def test_numbers_and_days_read_as_typed() -> None:
    rows: list[list[Cell]] = [
        ["stuck", "rate", "day", "none"],
        [240, 0.65, date(2026, 5, 3), None],
        [-3, 2.0, "", ""],
    ]
    written = b"".join(csv_chunks(rows))
    assert cells_of(written)[1:] == [("240", "0.65", "2026-05-03", ""), ("-3", "2", "", "")]


TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"))


@given(st.lists(st.lists(TEXTS, min_size=2, max_size=2)))
def test_what_is_written_reads_back_the_same(rows: list[list[str]]) -> None:
    written = b"".join(csv_chunks([["batch", "note"], *rows]))
    expected = [tuple(row) for row in rows if any(row)]
    assert cells_of(written)[1:] == expected


@given(st.lists(st.lists(TEXTS, min_size=2, max_size=2)))
def test_every_reader_of_the_standard_agrees(rows: list[list[str]]) -> None:
    written = b"".join(csv_chunks([["batch", "note"], *rows], mark=False)).decode()
    lines = list(csv.reader(io.StringIO(written, newline="")))
    assert all(len(line) == 2 for line in lines)
    assert len(lines) == len(rows) + 1


def test_long_sheets_leave_in_pieces() -> None:
    rows = ([f"A{number}", "x" * 50] for number in range(5_000))
    pieces = list(csv_chunks(rows))
    assert len(pieces) > 3
    assert len(cells_of(b"".join(pieces), row_limit=5_000)) == 5_000


def test_says_what_to_do_with_a_sheet_that_cannot_be_read() -> None:
    assert "empty" in sentence_of(b"")
    assert "empty" in sentence_of(b" \r\n ")
    assert "no header" in sentence_of(b"# only a comment\n")
    assert "not a CSV sheet" in sentence_of(b"batch\x00plant")
    assert "not a CSV sheet" in sentence_of(b"b\x81tch")
    assert "line 2" in sentence_of(b'batch,plant\n"A,Rosa\nB,Rosa\n')
    assert "more than 3 lines" in sentence_of(b"batch\n" + b"A\n" * 4, row_limit=3)


def test_a_sheet_at_the_limit_is_taken() -> None:
    assert len(cells_of(b"batch\n" + b"A\n" * 3, row_limit=3)) == 4
