"""Stays on benches: when something stands there, and what cannot be."""

from datetime import date

import pytest

from app.domain.bench_stays import StayOnBench, stay_faults

FIRST, THIRD, FIFTH = date(2026, 5, 1), date(2026, 5, 3), date(2026, 5, 5)


def stay(from_on: date, to_on: date | None = None, trays: int | None = None) -> StayOnBench:
    return StayOnBench(from_on=from_on, to_on=to_on, trays=trays)


def test_on_the_day_it_leaves_it_stands_elsewhere() -> None:
    moved = stay(FIRST, THIRD)
    assert moved.is_there(FIRST)
    assert not moved.is_there(THIRD)
    assert stay(THIRD).is_there(FIFTH)
    assert not stay(THIRD, THIRD).is_there(THIRD)


@pytest.mark.parametrize(
    ("stays", "trays", "says"),
    [
        ((stay(FIRST, THIRD), stay(THIRD)), 5, []),
        ((stay(FIRST, THIRD), stay(THIRD, None, 3), stay(THIRD, None, 2)), 5, []),
        ((stay(FIRST, None, 3),), 5, []),
        ((stay(FIRST, FIFTH), stay(THIRD)), 5, ["stands whole on one bench and also elsewhere"]),
        ((stay(FIRST, None, 3), stay(THIRD, None, 3)), 5, ["6 of its trays stand", "has 5"]),
        ((stay(FIFTH, THIRD),), None, ["ends before that"]),
    ],
)
def test_what_cannot_be_is_told(
    stays: tuple[StayOnBench, ...], trays: int | None, says: list[str]
) -> None:
    told = " ".join(stay_faults(stays, trays=trays))
    assert bool(told) == bool(says)
    assert all(words in told for words in says)
