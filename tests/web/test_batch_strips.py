"""The strip of a batch's days: every shape inside, in proportion, and said in words."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.outcomes import CheckCounts, CheckKind, Ending, Loss
from app.web.batch_strips import FLOOR, HEIGHT, LEFT, RIGHT, TOP, WIDTH, DayStrip, day_strip

TODAY = date(2026, 11, 25)


def strip(*checks: CheckCounts, days_old: int = 40, ended_on: date | None = None) -> DayStrip:
    return day_strip(
        checks, stuck=96, stuck_on=TODAY - timedelta(days=days_old), today=TODAY,
        due_on=None if ended_on else TODAY + timedelta(days=3), ended_on=ended_on,
    )  # fmt: skip


def count(days_ago: int, rooted: int, lost: int = 0, **more: object) -> CheckCounts:
    losses = (Loss(cause="basal rot", number=lost),) if lost else ()
    on = TODAY - timedelta(days=days_ago)
    return CheckCounts(checked_on=on, rooted=rooted, lost=losses, **more)  # type: ignore[arg-type]


def test_a_bar_is_divided_as_the_cuttings_are() -> None:
    (start, first, second) = strip(count(20, 24), count(10, 24, 12)).bars
    whole = FLOOR - TOP
    assert [(piece.kind, piece.height) for piece in start.pieces] == [("unrooted", whole)]
    assert [(piece.kind, piece.height) for piece in first.pieces] == [
        ("rooted", whole / 4),
        ("unrooted", whole * 3 / 4),
    ]
    assert [(piece.kind, round(piece.height / whole * 96)) for piece in second.pieces] == [
        ("rooted", 48),
        ("unrooted", 36),
        ("lost", 12),
    ]
    assert second.pieces[-1].y == TOP


def test_looks_and_samples_are_marks() -> None:
    look = CheckCounts(checked_on=TODAY, kind=CheckKind.LOOKED_ONLY)
    sample = CheckCounts(checked_on=TODAY, running=2, kind=CheckKind.SAMPLE, looked=10, rooted=4)
    withdrawn = count(5, 10, withdrawn=True)
    found = strip(look, sample, withdrawn)
    assert [mark.kind for mark in found.marks] == ["looked", "sample"]
    assert len(found.bars) == 1


def test_it_is_said_in_words() -> None:
    look = CheckCounts(checked_on=TODAY - timedelta(days=30), kind=CheckKind.LOOKED_ONLY)
    assert strip(look, count(10, 38, 11)).said == (
        "96 cuttings stuck; day 10: looked only; day 30: 38 rooted, 47 unrooted, 11 lost"
    )


def test_today_and_the_next_check_are_shown_until_the_end() -> None:
    going_on = strip()
    assert going_on.today_x is not None
    assert going_on.due_x == RIGHT
    assert "today, day 40" in [word.text for word in going_on.words]
    over = strip(count(10, 38, ending=Ending.DUMPED), ended_on=TODAY - timedelta(days=10))
    assert (over.today_x, over.due_x) == (None, None)
    assert not any("today" in word.text for word in over.words)
    assert [piece.kind for piece in over.bars[1].pieces] == ["rooted", "dumped"]


def test_words_of_near_checks_are_not_laid_over_each_other() -> None:
    found = strip(*(count(30 - place, 1) for place in range(6)))
    days = [word for word in found.words if word.text.startswith("day ")]
    assert len(found.bars) == 7
    assert [word.text for word in days] == ["day 10", "day 15"]
    assert days[1].x - days[0].x > 50


def test_what_is_expected_is_drawn_on_from_the_last_count() -> None:
    last = TODAY - timedelta(days=10)
    days = [(last + timedelta(days=day), 24.0 + day) for day in range(25)]
    found = day_strip(
        [count(10, 24)],
        stuck=96,
        stuck_on=TODAY - timedelta(days=40),
        today=TODAY,
        due_on=TODAY,
        ended_on=None,
        ahead=days,
    )
    places = [[float(n) for n in place.split()] for place in found.ahead[1:].split("L")]
    assert len(places) == 25
    (first_x, first_y), (last_x, last_y) = places[0], places[-1]
    bar = found.bars[1]
    # it leaves from the top of what had rooted at the last count, and ends with the picture
    assert first_x == pytest.approx(bar.x + bar.width / 2, abs=0.1)
    assert first_y == pytest.approx(FLOOR - (FLOOR - TOP) * 24 / 96, abs=0.1)
    assert (last_x, last_y) == (RIGHT, pytest.approx(FLOOR - (FLOOR - TOP) * 48 / 96, abs=0.1))
    assert found.said.endswith(
        "24 rooted, 72 unrooted, 0 lost; expected by day 54: about 48 rooted"
    )
    assert "about 48 rooted" in [word.text for word in found.words]
    assert strip(count(10, 24)).ahead == ""


@given(st.lists(st.integers(0, 200), max_size=8), st.integers(0, 400))
def test_everything_stands_inside_the_picture(on_days: list[int], days_old: int) -> None:
    checks = [
        count(days_old - day, 1, running=place)
        for place, day in enumerate(on_days, start=1)
        if day <= days_old
    ]
    found = strip(*checks, days_old=days_old)
    for bar in found.bars:
        assert LEFT <= bar.x <= bar.x + bar.width <= RIGHT
        assert all(TOP - 0.1 <= piece.y <= FLOOR for piece in bar.pieces)
    for mark in found.marks:
        assert LEFT <= mark.x <= RIGHT
    for word in found.words:
        assert 0 <= word.x <= WIDTH
        assert 0 <= word.y <= HEIGHT
