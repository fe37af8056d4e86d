"""How due a batch is, what makes it urgent and what is expected, in words."""

from datetime import date, timedelta

import pytest

from app.domain.due import (
    DueDates,
    DueFor,
    DueState,
    TimeToRoot,
    bench_summary,
    due_for,
    expectation,
    rooting_time,
    today_heading,
    urgency,
)
from app.domain.outcomes import Standing

TODAY = date(2026, 11, 25)
FRESH = Standing(stuck=60)


def dates(*, look: int, count: int, age: int = 41) -> DueDates:
    """Days from today: below zero is past."""
    return DueDates(
        stuck_on=TODAY - timedelta(days=age),
        look_on=TODAY + timedelta(days=look),
        count_on=TODAY + timedelta(days=count),
    )


@pytest.mark.parametrize(
    ("days", "state"),
    [
        (-30, DueState.LATE),
        (-1, DueState.LATE),
        (0, DueState.DUE_TODAY),
        (1, DueState.COMING),
        (7, DueState.COMING),
        (8, DueState.NOT_YET),
    ],
)
def test_late_from_the_day_after_due(days: int, state: DueState) -> None:
    assert dates(look=days, count=days + 1).state(TODAY) is state


@pytest.mark.parametrize(
    ("look", "count", "what"),
    [
        (0, 5, DueFor.LOOK),
        (-2, 0, DueFor.COUNT),
        (3, -1, DueFor.COUNT),
        (4, 4, DueFor.COUNT),
        (3, 4, DueFor.LOOK),
    ],
)
def test_a_count_that_has_come_goes_before_a_look(look: int, count: int, what: DueFor) -> None:
    assert due_for(dates(look=look, count=count), today=TODAY) is what


def test_a_batch_in_good_time_is_not_urgent() -> None:
    assert urgency(dates(look=3, count=9), today=TODAY, standing=FRESH) == ()
    assert urgency(dates(look=0, count=9), today=TODAY, standing=FRESH) == ()
    seen = Standing(stuck=60, last_looked_on=TODAY - timedelta(days=9))
    assert urgency(dates(look=-2, count=9), today=TODAY, standing=seen) == ()


def test_what_makes_a_batch_urgent_is_said() -> None:
    seen = Standing(stuck=60, last_looked_on=TODAY - timedelta(days=20))
    assert urgency(dates(look=-7, count=9), today=TODAY, standing=seen) == ()
    assert urgency(dates(look=-8, count=9), today=TODAY, standing=seen) == ("late by over a week",)
    assert urgency(dates(look=-1, count=9, age=8), today=TODAY, standing=FRESH) == (
        "never looked at in 8 days",
    )
    before_due = urgency(
        dates(look=3, count=9), today=TODAY, standing=seen, spreading=("grey mould",)
    )
    assert before_due == ("grey mould at the last check, and it spreads",)


def test_the_first_count_says_when_roots_come_and_who_says_so() -> None:
    known = TimeToRoot(weeks_low=4, weeks_high=6)
    said = expectation(dates(look=2, count=0), today=TODAY, standing=FRESH, time_to_root=known)
    assert said == "first count due: roots usually after 4 to 6 weeks, common practice, no source"
    sourced = TimeToRoot(weeks_low=4, weeks_high=4, source="HortScience 30(2): 360")
    assert rooting_time(sourced) == "roots usually after 4 weeks, HortScience 30(2): 360"
    assert rooting_time(TimeToRoot(weeks_low=1.5)).startswith("roots usually after 1.5 weeks")
    assert rooting_time(TimeToRoot(weeks_low=1)).startswith("roots usually after 1 week,")


def test_an_unknown_time_is_said_to_be_unknown() -> None:
    said = expectation(dates(look=2, count=0), today=TODAY, standing=FRESH)
    assert said == "first count due: how long this plant takes to root is not known here yet"


@pytest.mark.parametrize(
    ("ago", "words"), [(0, "today"), (1, "yesterday"), (14, "14 days ago"), (22, "3 weeks ago")]
)
def test_a_later_count_says_what_the_last_one_left(ago: int, words: str) -> None:
    standing = Standing(stuck=96, rooted=38, lost=11, counted_on=TODAY - timedelta(days=ago))
    said = expectation(dates(look=2, count=0), today=TODAY, standing=standing)
    assert said == f"count due; 38 rooted and 47 not rooted yet {words}"


def test_a_look_says_what_to_look_for() -> None:
    said = expectation(dates(look=0, count=9), today=TODAY, standing=FRESH)
    assert said.startswith("look due: rot, pests")
    frost = expectation(dates(look=0, count=9), today=TODAY, standing=FRESH, lined_out=True)
    assert "frost" in frost
    autumn = expectation(dates(look=9, count=0), today=TODAY, standing=FRESH, lined_out=True)
    assert "autumn" in autumn


@pytest.mark.parametrize(
    ("late", "due_today", "sentence"),
    [
        (0, 0, "Nothing wants a look today"),
        (2, 1, "Three batches want a look today, two of them late"),
        (1, 0, "One batch wants a look today, and it is late"),
        (2, 0, "Two batches want a look today, both of them late"),
        (3, 0, "Three batches want a look today, all of them late"),
        (0, 1, "One batch wants a look today"),
        (1, 1, "Two batches want a look today, one of them late"),
        (14, 1200, "1,214 batches want a look today, 14 of them late"),
    ],
)
def test_the_heading_is_a_sentence(late: int, due_today: int, sentence: str) -> None:
    assert today_heading(late=late, due_today=due_today) == sentence


def test_a_bench_is_summed_up() -> None:
    assert bench_summary(late=1, due_today=0, coming=2) == "3 batches: 1 late, 2 coming"
    assert bench_summary(late=0, due_today=1, coming=0) == "1 batch: 1 due"
