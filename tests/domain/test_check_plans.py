"""Which plan holds for a batch, and when it is looked at and counted next."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.check_plans import (
    BatchPlan,
    CheckPlan,
    NextDates,
    Plans,
    PlanSource,
    autumn_count_on,
    check_plan_of,
    choose_plan,
    next_dates,
    plan_words,
)
from app.domain.cutting_types import CuttingType
from app.domain.outcomes import Standing
from app.domain.problems import NotAccepted

STUCK_ON = date(2026, 10, 14)
OWN = CheckPlan(look_every_days=3, first_count_day=10, count_every_days=5)
GENUS = CheckPlan(look_every_days=4, first_count_day=12, count_every_days=6)
NURSERY = CheckPlan(look_every_days=6, first_count_day=30, count_every_days=15)


def test_where_nothing_is_known() -> None:
    # Weekly look: Longman 1993, sheet A 50 (CONFIRMED). First count on day 21 and then every
    # 14 days: common practice, no source.
    chosen = choose_plan(Plans())
    dates = next_dates(chosen, standing=Standing(stuck=9), stuck_on=STUCK_ON)
    assert chosen.source is PlanSource.NURSERY
    assert dates == NextDates(
        look_on=STUCK_ON + timedelta(days=7),
        count_on=STUCK_ON + timedelta(days=21),
        due_on=STUCK_ON + timedelta(days=7),
        late_on=STUCK_ON + timedelta(days=8),
    )


def test_the_most_particular_plan_decides() -> None:
    everything = Plans(batch=OWN, genus_and_type=GENUS, nursery=NURSERY, weeks_low=4)
    assert choose_plan(everything).plan == OWN
    assert choose_plan(Plans(genus_and_type=GENUS, nursery=NURSERY, weeks_low=4)).plan == GENUS
    by_card = choose_plan(Plans(nursery=NURSERY, weeks_low=4))
    assert by_card.plan == CheckPlan(look_every_days=6, first_count_day=28, count_every_days=15)
    assert by_card.source is PlanSource.METHOD_CARD
    assert choose_plan(Plans(nursery=NURSERY)).plan == NURSERY


def test_half_weeks_on_a_card_round_to_whole_days() -> None:
    assert choose_plan(Plans(weeks_low=2.5)).plan.first_count_day == 18
    assert choose_plan(Plans(weeks_low=0.05)).plan.first_count_day == 1


def test_after_a_count_the_next_one_follows_it() -> None:
    counted_on = STUCK_ON + timedelta(days=25)
    standing = Standing(stuck=9, last_looked_on=counted_on, counted_on=counted_on)
    dates = next_dates(choose_plan(Plans()), standing=standing, stuck_on=STUCK_ON)
    assert (dates.look_on, dates.count_on) == (
        counted_on + timedelta(days=7),
        counted_on + timedelta(days=14),
    )


def test_a_look_does_not_put_off_an_overdue_count() -> None:
    standing = Standing(stuck=9, last_looked_on=STUCK_ON + timedelta(days=30))
    dates = next_dates(choose_plan(Plans()), standing=standing, stuck_on=STUCK_ON)
    assert dates.due_on == dates.count_on == STUCK_ON + timedelta(days=21)


def test_a_cleared_batch_is_never_due() -> None:
    standing = Standing(stuck=9, rooted=5, lost=4)
    assert next_dates(choose_plan(Plans()), standing=standing, stuck_on=STUCK_ON) == NextDates()


def test_lined_out_hardwood_is_looked_at_until_autumn() -> None:
    chosen = choose_plan(
        Plans(weeks_low=8), cutting_type=CuttingType.HARDWOOD, container="lined out"
    )
    assert chosen.source is PlanSource.AUTUMN
    dates = next_dates(chosen, standing=Standing(stuck=9), stuck_on=date(2026, 11, 20))
    assert dates.look_on == date(2026, 11, 27)
    assert dates.count_on == date(2027, 10, 1)


@pytest.mark.parametrize(
    ("cutting_type", "container"),
    [(CuttingType.HARDWOOD, "plug tray"), (CuttingType.SOFTWOOD, "lined out")],
)
def test_only_hardwood_lined_out_waits_for_autumn(
    cutting_type: CuttingType, container: str
) -> None:
    chosen = choose_plan(Plans(weeks_low=8), cutting_type=cutting_type, container=container)
    assert chosen.source is PlanSource.METHOD_CARD


def test_a_plan_of_its_own_wins_over_the_autumn() -> None:
    chosen = choose_plan(Plans(batch=OWN), cutting_type=CuttingType.HARDWOOD, container="lined out")
    assert chosen.plan == OWN
    assert chosen.source is PlanSource.BATCH


@pytest.mark.parametrize(
    ("stuck_on", "southern", "counted_on"),
    [
        (date(2026, 11, 20), False, date(2027, 10, 1)),
        (date(2027, 2, 10), False, date(2027, 10, 1)),
        (date(2027, 9, 20), False, date(2028, 10, 1)),
        (date(2027, 7, 9), False, date(2027, 10, 1)),
        (date(2027, 7, 10), False, date(2028, 10, 1)),
        (date(2026, 5, 20), True, date(2027, 4, 1)),
        (date(2026, 8, 10), True, date(2027, 4, 1)),
    ],
)
def test_the_autumn_of_either_half_of_the_world(
    stuck_on: date, southern: bool, counted_on: date
) -> None:
    assert autumn_count_on(stuck_on, southern=southern) == counted_on


@given(day=st.dates(date(2000, 1, 1), date(2090, 1, 1)))
def test_south_is_north_turned_by_six_months(day: date) -> None:
    for southern, month in ((False, 10), (True, 4)):
        counted_on = autumn_count_on(day, southern=southern)
        assert (counted_on.month, counted_on.day) == (month, 1)
        assert timedelta(days=84) <= counted_on - day <= timedelta(days=84 + 366)


@given(
    look=st.integers(1, 60),
    first=st.integers(1, 60),
    every=st.integers(1, 60),
    looked=st.one_of(st.none(), st.integers(0, 60)),
    counted=st.one_of(st.none(), st.integers(0, 60)),
)
def test_due_is_the_earlier_and_late_the_day_after(
    look: int, first: int, every: int, looked: int | None, counted: int | None
) -> None:
    plan = check_plan_of(look_every_days=look, first_count_day=first, count_every_days=every)
    standing = Standing(
        stuck=5,
        last_looked_on=None if looked is None else STUCK_ON + timedelta(days=looked),
        counted_on=None if counted is None else STUCK_ON + timedelta(days=counted),
    )
    chosen = BatchPlan(plan=plan, source=PlanSource.BATCH)
    dates = next_dates(chosen, standing=standing, stuck_on=STUCK_ON)
    assert dates.look_on and dates.count_on and dates.late_on
    assert dates.due_on == min(dates.look_on, dates.count_on)
    assert dates.late_on - timedelta(days=1) == dates.due_on > STUCK_ON


@pytest.mark.parametrize("days", [0, -1, 731])
def test_a_plan_out_of_range_is_refused_at_each_field(days: int) -> None:
    with pytest.raises(NotAccepted) as refusal:
        check_plan_of(look_every_days=days, first_count_day=21, count_every_days=days)
    assert [problem.field for problem in refusal.value.problems] == [
        "look_every_days",
        "count_every_days",
    ]


def test_plans_are_said_in_words() -> None:
    assert plan_words(CheckPlan()) == (
        "A look every 7 days, the first count on day 21, then a count every 14 days."
    )
    daily = CheckPlan(look_every_days=1)
    assert plan_words(daily, autumn=True).startswith("A look every day, the first count in the aut")
