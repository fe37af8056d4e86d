"""How a stock plant stands, by the one rule. All of it is common practice, no source."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.source_plants import Moment
from app.domain.stock_plant_events import EventKind, PlantEvent, Result
from app.domain.stock_plant_states import (
    StateFacts,
    state_on,
    state_remarks,
    state_words,
    watch_reasons,
)
from app.domain.stock_plants import StateToday, StockPlantState
from tests.conftest import NOW, TODAY

CUT_ON = date(2026, 11, 2)
DAY = timedelta(days=1)
MOMENT = Moment(now=NOW, today=TODAY, zone="Europe/Berlin")
SICK = PlantEvent(
    id=1,
    kind=EventKind.INSPECTED,
    happened_on=TODAY - DAY,
    result=Result.BAD,
    finding="blackleg on two",
)
GRAVITY = ["fit to cut", "watched", "resting", "on hold", "discarded"]


@pytest.mark.parametrize(
    ("day", "state", "until"),
    [
        (date(2026, 11, 29), StockPlantState.RESTING, date(2026, 11, 29)),
        (date(2026, 11, 30), StockPlantState.FIT, None),  # four weeks after the 2nd
    ],
)
def test_a_plant_rests_for_its_weeks(day: date, state: StockPlantState, until: date | None) -> None:
    facts = StateFacts(rest_weeks=4, last_cut_on=CUT_ON)
    reason = "cut on Mon 2 Nov, 4 weeks of rest" if state is StockPlantState.RESTING else ""
    assert state_on(day, facts=facts) == StateToday(state=state, until=until, reason=reason)


def test_a_plant_rests_after_it_was_cut_back() -> None:
    facts = StateFacts(rest_weeks=1, last_cut_on=CUT_ON, cut_back_on=TODAY - DAY)
    words = state_words(state_on(TODAY, facts=facts), today=TODAY)
    assert words == "resting until Mon 30 Nov: cut back on Tue 24 Nov, 1 week of rest"


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        (
            StateFacts(tested_until=TODAY - DAY),
            "watched: the test held until Tue 24 November 2026",
        ),
        (StateFacts(tested_until=TODAY), "fit to cut"),
        (StateFacts(renew_by=TODAY - DAY), "watched: to be renewed by Tue 24 November 2026"),
        (StateFacts(renew_by=TODAY), "fit to cut"),
        (StateFacts(true_to_type_on=TODAY - timedelta(weeks=104)), "fit to cut"),
        (
            StateFacts(true_to_type_on=TODAY - timedelta(weeks=104, days=1)),
            "watched: not looked at for truth to type since Tue 26 November 2024",
        ),
        (
            StateFacts(events=(replace(SICK, result=Result.DOUBT),)),
            "watched: inspected on Tue 24 November 2026: blackleg on two",
        ),
        (
            StateFacts(events=(SICK,)),
            "on hold: inspected on Tue 24 November 2026: blackleg on two",
        ),
        (
            StateFacts(events=(replace(SICK, kind=EventKind.TESTED, about="a virus", finding=""),)),
            "on hold: a virus found in the test of Tue 24 November 2026",
        ),
        (
            StateFacts(
                events=(replace(SICK, kind=EventKind.TESTED, about="a virus", result=Result.DOUBT),)
            ),
            "watched: the test for a virus of Tue 24 November 2026 is not clear: blackleg on two",
        ),
        (
            StateFacts(events=(replace(SICK, kind=EventKind.TRUE_TO_TYPE, finding="pale"),)),
            "on hold: not true to type, looked at on Tue 24 November 2026: pale",
        ),
        (
            StateFacts(set_state=StockPlantState.WATCHED, set_reason="leaf spot"),
            "watched: leaf spot",
        ),
        (StateFacts(set_state=StockPlantState.ON_HOLD, set_reason="virus"), "on hold: virus"),
        (StateFacts(set_state=StockPlantState.RESTING), "resting"),
        (
            StateFacts(
                set_state=StockPlantState.DISCARDED, set_reason="old", events=(SICK,), rest_weeks=4
            ),
            "discarded: old",
        ),
    ],
)
def test_each_state_says_why(facts: StateFacts, said: str) -> None:
    assert state_words(state_on(TODAY, facts=facts), today=TODAY) == said


def test_what_was_found_later_says_nothing_of_an_earlier_day() -> None:
    facts = StateFacts(events=(SICK,))
    assert state_on(TODAY - 2 * DAY, facts=facts).state is StockPlantState.FIT


def test_a_reentry_time_holds_while_it_runs() -> None:
    facts = StateFacts(reentry_at=NOW + timedelta(hours=1), renew_by=TODAY - DAY)
    held = state_on(TODAY, facts=facts, moment=MOMENT)
    # 10:00 UTC on a day in winter is 11:00 in Berlin.
    assert held.state is StockPlantState.ON_HOLD
    assert "before 11:00 on Wed 25 November 2026" in held.reason
    reentry, renewal = state_remarks(facts, standing=held, day=TODAY, moment=MOMENT)
    assert "product label" in reentry
    assert renewal == "To be renewed by Tue 24 November 2026."
    over = replace(MOMENT, now=NOW + timedelta(hours=1))
    watched = state_on(TODAY, facts=facts, moment=over)
    assert watched.state is StockPlantState.WATCHED
    assert list(state_remarks(facts, standing=watched, day=TODAY, moment=over)) == []


DAYS = st.dates(date(2020, 1, 1), date(2030, 1, 1))


@given(
    day=DAYS,
    facts=st.builds(
        StateFacts,
        set_state=st.sampled_from(list(StockPlantState)),
        set_reason=st.just("r"),
        rest_weeks=st.none() | st.integers(0, 104),
        last_cut_on=st.none() | DAYS,
        cut_back_on=st.none() | DAYS,
        renew_by=st.none() | DAYS,
        tested_until=st.none() | DAYS,
        true_to_type_on=st.none() | DAYS,
        events=st.lists(
            st.builds(
                PlantEvent,
                id=st.integers(1, 99),
                kind=st.just(EventKind.INSPECTED),
                happened_on=DAYS,
                result=st.sampled_from(list(Result)),
                finding=st.just("spots"),
            ),
            max_size=3,
        ).map(tuple),
    ),
)
def test_a_record_only_makes_a_state_worse_than_set_by_hand(day: date, facts: StateFacts) -> None:
    standing = state_on(day, facts=facts)
    assert GRAVITY.index(standing.state) >= GRAVITY.index(facts.set_state)
    if standing.state is not StockPlantState.FIT:
        assert standing.reason
    if standing.until is not None:
        assert standing.state is StockPlantState.RESTING
        assert standing.until >= day
    if standing.state is StockPlantState.FIT:
        assert not list(watch_reasons(facts, day=day))
