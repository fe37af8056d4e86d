"""Days as typed and as said.

`data/iso_week_cases.csv`: facts of the calendar by ISO 8601, COMPUTED with a standard library and
checked back by its inverse; 2026 has 53 weeks.
"""

import csv
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain import days
from app.domain.problems import NotAccepted

TODAY = date(2026, 11, 27)  # a Friday
CASES = Path(__file__).parent.parent / "data" / "iso_week_cases.csv"
RECORDED = st.dates(min_value=days.EARLIEST, max_value=TODAY)


def parse(typed: str, *, today: date = TODAY, ahead: bool = False) -> date:
    return days.parse_day(typed, today=today, field="stuck_on", ahead=ahead)


@pytest.mark.parametrize(
    "typed",
    [
        "24/11", "24.11", "24.11.", "24-11", "24 11", "24/11/26", "24/11/2026", "24.11.2026",
        "24. 11. 2026", "24-11-2026", "24 nov", "24 Nov", "24nov", "24th november", "24 nov 2026",
        "24 November, 2026", "24-nov-26", "2026-11-24", "-3", "−3", "- 3 days", "tue", "Tuesday",
        "tue 24 nov", "Tue 24 Nov 2026", "Tuesday, 24/11",
    ],
)  # fmt: skip
def test_the_same_day_typed_in_many_ways(typed: str) -> None:
    assert parse(typed) == date(2026, 11, 24)


@pytest.mark.parametrize(
    ("typed", "day"),
    [
        ("t", TODAY),
        ("Today", TODAY),
        ("yesterday", date(2026, 11, 26)),
        ("y", date(2026, 11, 26)),
        ("-0", TODAY),
        ("fri", TODAY),
        ("sat", date(2026, 11, 21)),
        ("3/4", date(2026, 4, 3)),
        ("27/11", TODAY),
        ("28/11", date(2025, 11, 28)),
        ("24 dec", date(2025, 12, 24)),
        ("24/11/99", date(1999, 11, 24)),
        ("29/2", date(2024, 2, 29)),
        ("1 sept", date(2026, 9, 1)),
    ],
)
def test_a_record_lies_in_the_nearest_past(typed: str, day: date) -> None:
    assert parse(typed) == day


def test_a_plan_lies_ahead() -> None:
    assert parse("24/11", ahead=True) == date(2027, 11, 24)
    assert parse("28/11", ahead=True) == date(2026, 11, 28)
    assert parse("+3", ahead=True) == date(2026, 11, 30)
    assert parse("tomorrow", ahead=True) == date(2026, 11, 28)
    assert parse("mon", ahead=True) == date(2026, 11, 30)
    assert parse("fri", ahead=True) == TODAY
    assert parse("24/11/99", ahead=True) == date(2099, 11, 24)


def test_leap_day_is_found_over_a_century_without_one() -> None:
    assert parse("29/2", today=date(2103, 3, 1), ahead=False) == date(2096, 2, 29)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "Give a day such as"),
        ("soon", "Give a day such as"),
        ("11/24/2026", "no such day"),
        ("31/4", "no such day"),
        ("30/2", "no such day"),
        ("29/2/2026", "no such day"),
        ("2026-13-01", "no such day"),
        ("24 mo", "Give a day such as"),
        ("24 ju", "Give a day such as"),
        ("mon 24 nov", "is a Tuesday"),
        ("28/11/2026", "still to come"),
        ("tomorrow", "still to come"),
        ("+1", "still to come"),
        ("1/1/1949", "from 1950"),
        ("-99999", "from 1950"),
    ],
)
def test_what_is_no_such_day_is_refused_by_its_field(typed: str, says: str) -> None:
    with pytest.raises(NotAccepted) as refusal:
        parse(typed)
    (problem,) = refusal.value.problems
    assert problem.field == "stuck_on"
    assert says in problem.sentence


def test_a_blank_may_be_left_where_it_is_optional() -> None:
    assert days.parse_optional_day(" ", today=TODAY, field="taken_on") is None
    assert days.parse_optional_day("t", today=TODAY, field="taken_on") == TODAY


def test_days_in_words() -> None:
    tuesday = date(2026, 11, 24)
    assert days.day_short(tuesday, today=TODAY) == "Tue 24 Nov"
    assert days.day_short(date(2025, 11, 24), today=TODAY) == "Mon 24 Nov 2025"
    assert days.day_long(tuesday) == "Tue 24 November 2026"
    assert days.day_and_distance(tuesday, today=TODAY) == "Tue 24 Nov, 3 days ago"
    assert days.lateness(tuesday, today=TODAY, late=False) == "due 3 days ago"
    assert days.lateness(TODAY, today=TODAY, late=False) == "due today"


@pytest.mark.parametrize(
    ("offset", "far", "late"),
    [
        (-1200, "1,200 days ago", "1,200 days late"),
        (-2, "2 days ago", "2 days late"),
        (-1, "yesterday", "1 day late"),
        (0, "today", "due today"),
        (1, "tomorrow", "due tomorrow"),
        (4, "in 4 days", "due in 4 days"),
    ],
)
def test_distance_and_lateness(offset: int, far: str, late: str) -> None:
    day = TODAY + timedelta(days=offset)
    assert days.distance(day, today=TODAY) == far
    assert days.lateness(day, today=TODAY) == late


def test_iso_weeks_of_the_published_rule() -> None:
    lines = CASES.read_text(encoding="utf-8").splitlines()[1:]
    cases = list(csv.DictReader(lines))
    assert len(cases) == 29
    for case in cases:
        day = date.fromisoformat(case["date"])
        assert f"{days.iso_week(day)}-{day.isoweekday()}" == case["iso_week_date"]


@given(RECORDED)
def test_every_day_written_out_is_read_back(day: date) -> None:
    for written in (
        day.isoformat(),
        f"{day.day}/{day.month}/{day.year}",
        f"{day.day}.{day.month}.{day.year}",
        days.day_long(day),
        days.day_short(day, today=TODAY),
        f"-{(TODAY - day).days}",
    ):
        assert parse(written) == day


@given(RECORDED)
def test_a_day_without_its_year_is_within_the_last_year_but_for_leap_days(day: date) -> None:
    found = parse(f"{day.day}/{day.month}")
    assert (found.day, found.month) == (day.day, day.month)
    assert found <= TODAY
    assert (TODAY - found).days <= 365 or (day.day, day.month) == (29, 2)


@given(RECORDED)
def test_iso_weeks_go_back_to_their_days(day: date) -> None:
    year, week = days.iso_week(day).split("-W")
    assert date.fromisocalendar(int(year), int(week), day.isoweekday()) == day


@given(st.text())
def test_any_text_is_a_day_or_refused(text: str) -> None:
    try:
        day = parse(text)
    except NotAccepted:
        return
    assert days.EARLIEST <= day <= TODAY


# Mondays of weeks by ISO 8601; 2026 has a week 53, 2027 has not (tests/data/iso_week_cases.csv).
@pytest.mark.parametrize(
    ("typed", "monday"),
    [
        ("week 20", date(2027, 5, 17)),
        ("wk 48", date(2027, 11, 29)),
        ("Week 49", date(2026, 11, 30)),
        ("week 53", date(2026, 12, 28)),
        ("week 1 2028", date(2028, 1, 3)),
        ("2027-W20", date(2027, 5, 17)),
        ("w20", date(2027, 5, 17)),
        ("14 may", date(2027, 5, 14)),
    ],
)
def test_a_week_stands_for_its_monday(typed: str, monday: date) -> None:
    assert days.parse_day_or_week(typed, today=date(2026, 11, 25), field="due_on") == monday


@pytest.mark.parametrize("typed", ["week 0", "week 54", "week 53 2027", "week twenty"])
def test_a_week_that_is_none(typed: str) -> None:
    with pytest.raises(NotAccepted) as refused:
        days.parse_day_or_week(typed, today=date(2026, 11, 25), field="due_on")
    assert refused.value.problems[0].field == "due_on"
