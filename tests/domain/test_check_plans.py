"""Which plan holds for a batch, and when it is looked at and counted next."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.check_plans import (
    BatchPlan,
    CheckPlan,
    CountSource,
    LearnedCount,
    NextDates,
    Plans,
    accepted_plan,
    autumn_count_on,
    choose_plan,
    next_dates,
    plan_words,
)
from app.domain.cutting_types import CuttingType
from app.domain.outcomes import Standing
from app.domain.problems import NotAccepted

STUCK_ON = date(2026, 10, 14)
OWN = CheckPlan(look_every_days=3, first_count_day=10, count_every_days=5)
TYPE = CheckPlan(look_every_days=4, first_count_day=12, count_every_days=6)
GENUS = CheckPlan(look_every_days=5, first_count_day=13, count_every_days=8)
NURSERY = CheckPlan(look_every_days=6, first_count_day=30, count_every_days=15)


def test_where_nothing_is_known() -> None:
    # Weekly look: Longman 1993, sheet A 50 (CONFIRMED). First count on day 21 and then every
    # 14 days: common practice, no source.
    chosen = choose_plan(Plans())
    dates = next_dates(chosen, standing=Standing(stuck=9), stuck_on=STUCK_ON)
    assert chosen.source is CountSource.USUAL
    assert dates == NextDates(
        look_on=STUCK_ON + timedelta(days=7),
        count_on=STUCK_ON + timedelta(days=21),
        due_on=STUCK_ON + timedelta(days=7),
        late_on=STUCK_ON + timedelta(days=8),
    )


def chosen_days(plans: Plans) -> tuple[int, int, int]:
    chosen = choose_plan(plans)
    return chosen.look_every_days, chosen.first_count_day, chosen.count_every_days


def test_the_most_particular_plan_decides() -> None:
    everything = Plans(batch=OWN, genus_and_type=TYPE, genus=GENUS, nursery=NURSERY, weeks_low=4)
    assert chosen_days(everything) == (3, 10, 5)
    assert chosen_days(replace(everything, batch=CheckPlan())) == (4, 12, 6)
    by_genus = replace(everything, batch=CheckPlan(), genus_and_type=CheckPlan())
    assert chosen_days(by_genus) == (5, 13, 8)
    by_card = replace(by_genus, genus=CheckPlan())
    assert chosen_days(by_card) == (6, 28, 15)
    assert chosen_days(replace(by_card, weeks_low=None)) == (6, 30, 15)
    assert chosen_days(Plans()) == (7, 21, 14)


def test_a_number_left_open_is_the_next_wider_plans() -> None:
    plans = Plans(batch=CheckPlan(look_every_days=2), genus=GENUS)
    assert chosen_days(plans) == (2, 13, 8)
    assert choose_plan(plans).source is CountSource.GENUS


def test_half_weeks_on_a_card_round_to_whole_days() -> None:
    assert choose_plan(Plans(weeks_low=2.5)).first_count_day == 18
    assert choose_plan(Plans(weeks_low=0.05)).first_count_day == 1


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
        Plans(weeks_low=8), cutting_type=CuttingType.HARDWOOD, container_kind="lined out"
    )
    assert chosen.source is CountSource.AUTUMN
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
    chosen = choose_plan(Plans(weeks_low=8), cutting_type=cutting_type, container_kind=container)
    assert chosen.source is CountSource.METHOD_CARD


@pytest.mark.parametrize(
    ("plans", "source"),
    [
        (Plans(batch=OWN), CountSource.BATCH),
        (Plans(genus=GENUS), CountSource.GENUS),
        (Plans(nursery=NURSERY), CountSource.AUTUMN),
        (Plans(batch=CheckPlan(look_every_days=14)), CountSource.AUTUMN),
        (Plans(batch=CheckPlan(looks_only=False)), CountSource.USUAL),
    ],
)
def test_a_narrow_plan_wins_over_the_autumn(plans: Plans, source: CountSource) -> None:
    chosen = choose_plan(plans, cutting_type=CuttingType.HARDWOOD, container_kind="lined out")
    assert chosen.source is source


def test_looks_only_can_be_asked_for_any_batch() -> None:
    chosen = choose_plan(Plans(genus=CheckPlan(looks_only=True), weeks_low=4), southern=True)
    dates = next_dates(chosen, standing=Standing(stuck=9), stuck_on=date(2026, 8, 3))
    assert dates.count_on == date(2027, 4, 1)


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
    standing = Standing(
        stuck=5,
        last_looked_on=None if looked is None else STUCK_ON + timedelta(days=looked),
        counted_on=None if counted is None else STUCK_ON + timedelta(days=counted),
    )
    chosen = BatchPlan(
        look_every_days=look,
        first_count_day=first,
        count_every_days=every,
        source=CountSource.GENUS,
    )
    dates = next_dates(chosen, standing=standing, stuck_on=STUCK_ON)
    assert dates.look_on and dates.count_on and dates.late_on
    assert dates.due_on == min(dates.look_on, dates.count_on)
    assert dates.late_on - timedelta(days=1) == dates.due_on > STUCK_ON


@pytest.mark.parametrize("days", [0, -1, 731])
def test_a_plan_out_of_range_is_refused_at_each_field(days: int) -> None:
    with pytest.raises(NotAccepted) as refusal:
        accepted_plan(CheckPlan(look_every_days=days, first_count_day=21, count_every_days=days))
    assert [problem.field for problem in refusal.value.problems] == [
        "look_every_days",
        "count_every_days",
    ]


def test_a_plan_may_leave_everything_open() -> None:
    assert accepted_plan(CheckPlan()).is_blank
    assert not CheckPlan(looks_only=False).is_blank


def test_the_most_particular_plan_says_whether_what_was_learned_goes_first() -> None:
    by_days, learned = CheckPlan(learned=False), CheckPlan(learned=True)
    assert choose_plan(Plans()).learned
    assert not choose_plan(Plans(nursery=by_days)).learned
    assert choose_plan(Plans(nursery=by_days, genus=learned)).learned
    assert not choose_plan(Plans(genus=learned, genus_and_type=by_days)).learned
    assert choose_plan(Plans(genus_and_type=by_days, batch=learned)).learned
    # what is counted in the autumn goes by the calendar, whatever was learned
    assert not choose_plan(Plans(batch=CheckPlan(looks_only=True, learned=True))).learned


def test_what_was_learned_stands_in_for_the_days_only_where_the_plan_lets_it() -> None:
    learned = LearnedCount(count_on=date(2026, 6, 20), late_on=date(2026, 6, 25))
    standing = Standing(stuck=60, last_looked_on=date(2026, 6, 17))
    stuck_on = date(2026, 6, 1)
    by_it = next_dates(BatchPlan(), standing=standing, stuck_on=stuck_on, learned=learned)
    assert (by_it.count_on, by_it.due_on) == (date(2026, 6, 20), date(2026, 6, 20))
    # the look of the 24th is late the day after, before the count is
    assert by_it.late_on == date(2026, 6, 25)
    by_days = next_dates(
        BatchPlan(learned=False), standing=standing, stuck_on=stuck_on, learned=learned
    )
    assert by_days.count_on == date(2026, 6, 22)
    assert by_days.late_on == date(2026, 6, 23)


def test_plans_are_said_in_words() -> None:
    assert plan_words(choose_plan(Plans(weeks_low=4))) == (
        "A look every 7 days, the first count on day 28 (the weeks to root on the method card), "
        "then a count every 14 days. Once earlier batches of the genus have taught how fast it "
        "roots, counts go by that instead."
    )
    daily = choose_plan(Plans(batch=CheckPlan(look_every_days=1, looks_only=True)))
    assert plan_words(daily) == (
        "A look every day, the first count in the autumn, then a count every 14 days."
    )
    by_days = choose_plan(Plans(nursery=CheckPlan(learned=False)))
    assert plan_words(by_days).endswith("every 14 days. Counts always go by these days.")
