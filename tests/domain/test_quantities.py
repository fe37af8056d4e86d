"""Numbers of cuttings, bare and in trays and gaps."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.problems import NotAccepted
from app.domain.quantities import (
    MOST_CUTTINGS,
    Quantity,
    parse_optional_quantity,
    parse_quantity,
)

IN_TRAYS = Quantity(number=576, trays=7, per_tray=84, gaps=12)


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("96", 96),
        (" 96 ", 96),
        ("0", 0),
        ("1,020", 1020),
        ("1 020", 1020),
        ("1\N{NO-BREAK SPACE}020", 1020),
        ("1,000,000", 1_000_000),
        ("96 cuttings", 96),
        ("1 cutting", 1),
    ],
)
def test_a_bare_number_is_read(typed: str, number: int) -> None:
    assert parse_quantity(typed, field="stuck") == Quantity(number=number)


@pytest.mark.parametrize(
    "typed",
    [
        "7 trays of 84 less 12",
        "7 Trays of 84 minus 12",
        "7 x 84 - 12",
        "7x84-12",
        "7 × 84 − 12",
        "7*84 less 12 gaps",
        "7 trays of 84, 12 gaps",
        "7 plug trays of 84 less 12 cuttings",
        "6 trays of 84 and 72",
        "6 x 84 + 72",
    ],
)
def test_trays_and_gaps_are_read(typed: str) -> None:
    assert parse_quantity(typed, field="stuck") == IN_TRAYS


def test_full_trays_have_no_gaps() -> None:
    expected = Quantity(number=588, trays=7, per_tray=84, gaps=0)
    assert parse_quantity("7 trays of 84", field="stuck") == expected
    assert parse_quantity("7 trays of 84 and 0", field="stuck") == expected


def test_pots_count_as_trays_do() -> None:
    expected = Quantity(number=96, trays=16, per_tray=6, gaps=0)
    assert parse_quantity("16 pots of 6", field="stuck") == expected


def test_plugs_need_not_be_typed_where_the_tray_is_known() -> None:
    assert parse_quantity("7 trays less 12", field="stuck", per_tray=84) == IN_TRAYS
    assert parse_quantity("6 trays and 72", field="stuck", per_tray=84) == IN_TRAYS
    assert parse_quantity("7 trays of 50", field="stuck", per_tray=84).number == 350
    assert parse_quantity("96", field="stuck", per_tray=84) == Quantity(number=96)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "Give a number"),
        ("a few", "Give a number"),
        ("7 trays", "how many plugs"),
        ("9²", "Give a number"),
        ("-5", "cannot be below zero"),
        ("96.5", "whole number"),
        ("1.020", 'type "1020"'),
        ("1,02", "whole number"),
        ("7 trays of 84 less 600", "more than the 588 plugs"),
        ("7 trays of 84 and 84", "tray of its own"),
        ("0 trays of 84", "at least one tray"),
        ("7 trays of 0", "at least one tray"),
        ("1,000,001", "at most 1,000,000"),
        ("20000 trays of 84", "at most 1,000,000"),
    ],
)
def test_what_is_no_number_is_refused_by_its_field(typed: str, says: str) -> None:
    with pytest.raises(NotAccepted) as refusal:
        parse_quantity(typed, field="stuck")
    (problem,) = refusal.value.problems
    assert problem.field == "stuck"
    assert says in problem.sentence


def test_bounds_can_be_asked_for() -> None:
    with pytest.raises(NotAccepted, match="at least 1"):
        parse_quantity("0", field="stuck", least=1)
    with pytest.raises(NotAccepted, match="at most 50"):
        parse_quantity("51", field="lost", most=50)


def test_a_blank_may_be_left_where_it_is_optional() -> None:
    assert parse_optional_quantity("  ", field="taken") is None
    assert parse_optional_quantity("12", field="taken") == Quantity(number=12)


def test_labels_say_the_number_first() -> None:
    assert Quantity(number=1020).label == "1,020"
    assert IN_TRAYS.label == "576 (7 trays of 84 less 12)"
    assert Quantity(number=84, trays=1, per_tray=84).label == "84 (1 tray of 84)"


@given(st.integers(min_value=0, max_value=MOST_CUTTINGS))
def test_a_number_written_with_commas_is_itself(number: int) -> None:
    assert parse_quantity(f"{number:,}", field="stuck").number == number
    assert parse_quantity(str(number), field="stuck").number == number


@given(st.integers(1, 500), st.integers(1, 500), st.data())
def test_trays_less_gaps_add_up(trays: int, per_tray: int, data: st.DataObject) -> None:
    gaps = data.draw(st.integers(0, trays * per_tray))
    quantity = parse_quantity(f"{trays} trays of {per_tray} less {gaps}", field="stuck")
    assert quantity.number == trays * per_tray - gaps
    assert (quantity.trays, quantity.per_tray, quantity.gaps) == (trays, per_tray, gaps)


@given(st.integers(1, 500), st.integers(1, 500), st.data())
def test_the_words_in_a_label_are_read_back(trays: int, per_tray: int, data: st.DataObject) -> None:
    gaps = data.draw(st.integers(0, trays * per_tray))
    quantity = parse_quantity(f"{trays} x {per_tray} - {gaps}", field="stuck")
    words = quantity.label.partition("(")[2].rstrip(")")
    assert parse_quantity(words, field="stuck") == quantity


@given(st.text())
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        quantity = parse_quantity(text, field="stuck")
    except NotAccepted as refusal:
        assert all(problem.field == "stuck" for problem in refusal.problems)
    else:
        assert 0 <= quantity.number <= MOST_CUTTINGS
