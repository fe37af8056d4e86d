"""Months of a card: typed, written, turned."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.card_months import (
    month_names,
    months_text,
    months_words,
    parse_months,
    turned,
)
from app.domain.nursery import Hemisphere
from app.domain.problems import NotAccepted

months = st.frozensets(st.integers(1, 12))


@pytest.mark.parametrize(
    ("text", "wanted", "words"),
    [
        ("8-10", {8, 9, 10}, "August to October"),
        ("aug to oct", {8, 9, 10}, "August to October"),
        ("August – October", {8, 9, 10}, "August to October"),
        ("11-2", {11, 12, 1, 2}, "November to February"),
        ("11-2, 6", {11, 12, 1, 2, 6}, "June, November to February"),
        ("may and sept", {5, 9}, "May, September"),
        ("3", {3}, "March"),
        ("1-12", set(range(1, 13)), "all year"),
        ("4-3", set(range(1, 13)), "all year"),
        ("", set(), ""),
    ],
)
def test_months_are_read_and_said(text: str, wanted: set[int], words: str) -> None:
    read = parse_months(text)
    assert read == wanted
    assert months_words(read) == words


@pytest.mark.parametrize("text", ["13", "0", "ma", "spring", "8-", "8-10-12", "x"])
def test_what_is_no_month_is_refused(text: str) -> None:
    with pytest.raises(NotAccepted, match="is no month"):
        parse_months(text)


@given(months)
def test_months_written_are_read_alike(chosen: frozenset[int]) -> None:
    assert parse_months(months_text(chosen)) == chosen
    assert parse_months(month_names(chosen)) == chosen


@given(months)
def test_turning_twice_changes_nothing(chosen: frozenset[int]) -> None:
    once = turned(chosen, hemisphere=Hemisphere.SOUTH)
    assert turned(once, hemisphere=Hemisphere.SOUTH) == chosen
    assert turned(chosen, hemisphere=Hemisphere.NORTH) == chosen
    assert len(once) == len(chosen)


def test_the_south_is_half_a_year_away() -> None:
    assert turned(parse_months("8-10"), hemisphere=Hemisphere.SOUTH) == parse_months("2-4")
    assert turned(parse_months("11-2"), hemisphere=Hemisphere.SOUTH) == parse_months("5-8")
