"""Every stored value comes back from its cell as it was, whatever it holds."""

import math
from datetime import date, datetime

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from app.domain.archives import CellKind
from app.formats.archive_cells import NOTHING, BadCell, read_cell, write_cell

NASTY = st.text(
    alphabet=st.one_of(
        st.sampled_from("\\N=+-@\t\r\n\",';\ufeff＝０é猫🌱"),
        st.characters(exclude_categories=["Cs"]),
    )
).filter(lambda text: "\x00" not in text)


@given(NASTY)
@example("")
@example(NOTHING)
@example("\\")
@example("\\\\N")
@example("=1+1")
@example("＝1+1")
@example("\r\n")
def test_text_comes_back_and_runs_nowhere(text: str) -> None:
    cell = write_cell(text, kind=CellKind.TEXT)
    assert read_cell(cell, kind=CellKind.TEXT) == text
    assert cell != NOTHING
    # Where a formula may begin: OWASP's page on CSV injection, from memory.
    assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"))


@pytest.mark.parametrize("kind", CellKind)
def test_nothing_is_told_from_everything_else(kind: CellKind) -> None:
    assert write_cell(None, kind=kind) == NOTHING
    assert read_cell(NOTHING, kind=kind) is None


@given(st.floats(allow_nan=False))
@example(5e-324)
@example(1.7976931348623157e308)
@example(0.1 + 0.2)
@example(-0.0)
def test_floats_come_back_to_the_last_bit(value: float) -> None:
    read = read_cell(write_cell(value, kind=CellKind.NUMBER), kind=CellKind.NUMBER)
    assert isinstance(read, float)
    assert (read, math.copysign(1, read)) == (value, math.copysign(1, value))


@given(st.integers(min_value=-(2**63), max_value=2**63 - 1))
def test_whole_numbers_come_back(value: int) -> None:
    assert read_cell(write_cell(value, kind=CellKind.INTEGER), kind=CellKind.INTEGER) == value


@given(st.datetimes())
def test_instants_come_back_with_their_microseconds(value: datetime) -> None:
    stored = value.isoformat(sep=" ", timespec="microseconds")
    cell = write_cell(stored, kind=CellKind.INSTANT)
    assert cell == value.isoformat(timespec="microseconds") + "Z"
    assert read_cell(cell, kind=CellKind.INSTANT) == stored


@given(st.dates(min_value=date(1000, 1, 1)))
def test_dates_come_back(value: date) -> None:
    cell = write_cell(value.isoformat(), kind=CellKind.DATE)
    assert read_cell(cell, kind=CellKind.DATE) == cell == value.isoformat()


@given(st.binary())
def test_bytes_come_back(value: bytes) -> None:
    assert read_cell(write_cell(value, kind=CellKind.BYTES), kind=CellKind.BYTES) == value


@pytest.mark.parametrize("flag", [0, 1])
def test_flags_come_back(flag: int) -> None:
    assert read_cell(write_cell(flag, kind=CellKind.FLAG), kind=CellKind.FLAG) == flag


@pytest.mark.parametrize("text", ['["a", 1]', '{"a": "\\u00e9"}', "[]", "{ }"])
def test_json_comes_back_letter_for_letter(text: str) -> None:
    assert read_cell(write_cell(text, kind=CellKind.JSON), kind=CellKind.JSON) == text


@pytest.mark.parametrize(
    ("kind", "cell"),
    [
        (CellKind.INTEGER, ""),
        (CellKind.INTEGER, "01"),
        (CellKind.INTEGER, "-0"),
        (CellKind.INTEGER, "1.0"),
        (CellKind.INTEGER, "9223372036854775808"),
        (CellKind.NUMBER, "1"),
        (CellKind.NUMBER, "1.50"),
        (CellKind.NUMBER, "nan"),
        (CellKind.NUMBER, "inf"),
        (CellKind.TEXT, "=1"),
        (CellKind.TEXT, "\\"),
        (CellKind.TEXT, "\\M"),
        (CellKind.TEXT, "a\x00b"),
        (CellKind.FLAG, "1"),
        (CellKind.DATE, "2026-02-29"),
        (CellKind.DATE, "20260201"),
        (CellKind.INSTANT, "2026-02-01T25:00:00Z"),
        (CellKind.INSTANT, "2026-02-01T08:00:00"),
        (CellKind.JSON, "1"),
        (CellKind.JSON, "{"),
        (CellKind.JSON, "[" * 100_000),
        (CellKind.BYTES, "YQ"),
        (CellKind.BYTES, "YR=="),
        (CellKind.BYTES, "é"),
    ],
)
def test_what_was_not_written_so_is_refused(kind: CellKind, cell: str) -> None:
    with pytest.raises(BadCell):
        read_cell(cell, kind=kind)


@pytest.mark.parametrize(
    ("kind", "value"),
    [
        (CellKind.INTEGER, "1"),
        (CellKind.INTEGER, 1.5),
        (CellKind.NUMBER, "x"),
        (CellKind.TEXT, b"x"),
        (CellKind.TEXT, "a\x00b"),
        (CellKind.FLAG, 2),
        (CellKind.DATE, 20260101),
        (CellKind.INSTANT, "yesterday"),
        (CellKind.JSON, "null"),
        (CellKind.JSON, 5),
        (CellKind.BYTES, "text"),
    ],
)
def test_what_is_stored_wrong_is_not_carried(kind: CellKind, value: str) -> None:
    with pytest.raises(BadCell):
        write_cell(value, kind=kind)
