"""What is expected of an open batch, in words, worked out by hand."""

from datetime import date, timedelta

import pytest

from app.domain.due import DueDates, expectation
from app.domain.due_outlooks import KeptOutlook, expected_words, reason_words
from app.domain.outcomes import Standing
from app.stats.look_rules import BUDGET

TODAY = date(2026, 11, 25)


def outlook(*new_by: float, days_ago: int = 10, finish: bool = False) -> KeptOutlook:
    return KeptOutlook(
        from_on=TODAY - timedelta(days=days_ago),
        new_by=new_by,
        ever=new_by[-1],
        finish=finish,
        leans_on=14,
        genus="Hebe",
    )


COUNTED = Standing(stuck=96, rooted=38, counted_on=TODAY - timedelta(days=10))
FRESH = Standing(stuck=96)


def test_eight_rooted_ones_standing_five_days_use_up_the_budget() -> None:
    steps = outlook(*[8.0] * 30, days_ago=5)
    assert steps.new_on(TODAY) == 8.0
    assert steps.waited_on(TODAY) == BUDGET == 40.0
    assert steps.cost_on(TODAY) == 0.0
    assert steps.cost_on(TODAY - timedelta(days=1)) == -8.0


def test_beyond_what_was_written_down_the_last_number_stands_on() -> None:
    short = outlook(0.0, 1.0, 3.0, days_ago=2)
    assert short.new_on(TODAY + timedelta(days=50)) == 3.0
    # half a cutting on the first day, two on the second, three on each of two more
    assert short.waited_on(TODAY + timedelta(days=2)) == 0.5 + 2.0 + 2 * 3.0
    assert short.new_on(TODAY - timedelta(days=9)) == 0.0


@pytest.mark.parametrize(
    ("new", "words"),
    [
        (0.4, "hardly any more by now"),
        (0.6, "about 1 more by now"),
        (7.4, "about 7 more by now"),
        (19.2, "about 20 more by now"),
        (96.0, "about 95 more by now"),
        (1_234.0, "about 1,230 more by now"),
    ],
)
def test_after_a_count_the_number_of_new_ones_is_told(new: float, words: str) -> None:
    assert expected_words(outlook(new), on=TODAY, today=TODAY, standing=COUNTED) == words


@pytest.mark.parametrize(
    ("new", "words"),
    [
        (3.0, "hardly any rooted by now"),
        (38.0, "about 4 in 10 rooted by now"),
        (94.0, "nearly all rooted by now"),
    ],
)
def test_before_any_count_it_is_told_in_ten(new: float, words: str) -> None:
    assert expected_words(outlook(new), on=TODAY, today=TODAY, standing=FRESH) == words


def test_a_day_to_come_is_then() -> None:
    on = TODAY + timedelta(days=3)
    assert expected_words(outlook(20.0), on=on, today=TODAY, standing=COUNTED) == (
        "about 20 more by then"
    )


def test_why_now() -> None:
    # 20 a day, ten days long: 200 days stood by 20 cuttings are ten each
    many = outlook(*[20.0] * 60, days_ago=10)
    assert reason_words(many, on=TODAY, today=TODAY) == (
        "rooted ones are standing too long, 10 days on average"
    )
    assert reason_words(many, on=TODAY + timedelta(days=2), today=TODAY) == (
        "rooted ones will be standing too long, 12 days on average"
    )
    few = outlook(*[0.1] * 60, days_ago=28)
    assert reason_words(few, on=TODAY, today=TODAY) == "4 weeks without a count"
    done = outlook(0.1, finish=True)
    assert reason_words(done, on=TODAY, today=TODAY) == "few more expected: time to finish?"


def test_what_it_rests_on() -> None:
    assert outlook(1.0).basis == "by 14 finished batches of Hebe"


def dates(*, look: int, count: int) -> DueDates:
    return DueDates(
        stuck_on=TODAY - timedelta(days=41),
        look_on=TODAY + timedelta(days=look),
        count_on=TODAY + timedelta(days=count),
        late_on=TODAY + timedelta(days=count + 3),
    )


def said(due: DueDates, standing: Standing, learned: KeptOutlook | None) -> str:
    return expectation(due, today=TODAY, standing=standing, outlook=learned)


def test_a_line_of_a_count_says_how_many_and_why() -> None:
    many = outlook(*[20.0] * 60)
    assert said(dates(look=3, count=-1), COUNTED, many) == (
        "count due: about 20 more by now; rooted ones are standing too long, 10 days on average"
    )
    assert said(dates(look=3, count=0), FRESH, many).startswith(
        "first count due: about 2 in 10 rooted by now; rooted ones"
    )


def test_a_line_of_a_look_says_so_and_what_stands_there() -> None:
    looked = Standing(stuck=96, last_looked_on=TODAY - timedelta(days=9))
    assert said(dates(look=-2, count=9), looked, outlook(38.0)) == (
        "weekly look: rot, pests, shading, and whether they are wet enough; "
        "about 4 in 10 rooted by now"
    )
    assert said(dates(look=1, count=9), looked, outlook(38.0)).startswith("look every 10 days: ")


def test_time_to_finish_is_asked_on_every_line() -> None:
    done = outlook(*[0.2] * 60, finish=True)
    assert said(dates(look=3, count=0), COUNTED, done).endswith(
        "few more expected: time to finish?"
    )
    assert said(dates(look=0, count=9), COUNTED, done).endswith(
        "few more expected: time to finish?"
    )


def test_where_nothing_is_learned_the_words_stay() -> None:
    assert said(dates(look=3, count=-1), COUNTED, None) == (
        "count due; 38 rooted and 58 not rooted yet 10 days ago"
    )
