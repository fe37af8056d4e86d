"""Waiting after wrong tries, and when a session has run out."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.sign_in import (
    LONGEST_WAIT,
    LONGEST_WAIT_OVERALL,
    WrongTries,
    free_again_at,
    is_idle,
    wait_in_words,
)

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
NONE = WrongTries(number=0, newest_at=None)


def _wait(pair: int = 0, by_name: int = 0, by_address: int = 0) -> int:
    tries = [
        WrongTries(number=number, newest_at=NOW if number else None)
        for number in (pair, by_name, by_address)
    ]
    until = free_again_at(pair=tries[0], by_name=tries[1], by_address=tries[2])
    return 0 if until is None else int((until - NOW).total_seconds())


def test_the_wait_doubles_after_five_tries() -> None:
    assert [_wait(pair=number) for number in range(10)] == [0, 0, 0, 0, 0, 2, 4, 8, 16, 32]


def test_many_tries_overall_slow_down_a_little() -> None:
    assert [_wait(by_name=number) for number in (19, 20, 21, 30)] == [0, 2, 4, 60]
    assert [_wait(by_address=number) for number in (19, 20, 21, 30)] == [0, 2, 4, 60]
    assert _wait(pair=6, by_name=20, by_address=22) == 8


@given(st.integers(0, 10**9), st.integers(0, 10**9), st.integers(0, 10**9))
def test_nothing_is_locked_for_good(pair: int, by_name: int, by_address: int) -> None:
    wait = timedelta(seconds=_wait(pair, by_name, by_address))
    assert wait <= LONGEST_WAIT
    assert timedelta(seconds=_wait(0, by_name, by_address)) <= LONGEST_WAIT_OVERALL


@given(st.integers(0, 1000))
def test_one_more_wrong_try_never_shortens_the_wait(number: int) -> None:
    assert _wait(pair=number) <= _wait(pair=number + 1)


@pytest.mark.parametrize(
    ("left", "words"),
    [
        (timedelta(seconds=1), "1 second"),
        (timedelta(seconds=1, microseconds=1), "2 seconds"),
        (timedelta(seconds=90), "90 seconds"),
        (timedelta(seconds=91), "2 minutes"),
        (timedelta(minutes=15), "15 minutes"),
        (timedelta(0), "1 second"),
    ],
)
def test_the_wait_is_said_rounded_up(left: timedelta, words: str) -> None:
    assert wait_in_words(NOW + left, now=NOW) == words


def test_twelve_hours_without_a_visit_end_a_session() -> None:
    assert not is_idle(seen_at=NOW - timedelta(hours=12), now=NOW)
    assert is_idle(seen_at=NOW - timedelta(hours=12, seconds=1), now=NOW)
    # A clock that was put back does not throw anybody out.
    assert not is_idle(seen_at=NOW + timedelta(hours=1), now=NOW)
