"""Which batches are planned, for whatever day the story ends on."""

from collections import Counter
from datetime import date, timedelta

import pytest

from seed_demo.calendar import STORY_DAYS, calamities, is_working_day, plan_batches
from seed_demo.places import SECOND_TRAINEE

SEED = 7
ANCHORS = [date(2026, 1, 1), date(2026, 2, 28), date(2026, 5, 13), date(2026, 11, 25)]


@pytest.mark.parametrize("today", [*ANCHORS, date(2028, 2, 29)])
def test_two_seasons_before_whatever_day(today: date) -> None:
    planned = plan_batches(today, seed=SEED)
    assert 400 < len(planned) < 700
    days = [batch.stuck_on for batch in planned]
    assert days == sorted(days)
    assert today - timedelta(days=STORY_DAYS) <= days[0]
    assert days[-1] < today
    assert all(is_working_day(day) for day in days)
    assert len({batch.key for batch in planned}) == len(planned)


def test_seasons_are_kept() -> None:
    for batch in plan_batches(date(2026, 11, 25), seed=SEED):
        # A day may slip over the turn of a month to the last working day.
        near = {batch.stuck_on.month, (batch.stuck_on + timedelta(days=10)).month}
        assert near & set(batch.habit.months), batch.key


def test_the_same_seed_plans_the_same() -> None:
    today = date(2026, 11, 25)
    assert plan_batches(today, seed=SEED) == plan_batches(today, seed=SEED)
    assert plan_batches(today, seed=SEED) != plan_batches(today, seed=SEED + 1)


def test_methods_take_turns_within_a_season() -> None:
    planned = plan_batches(date(2026, 11, 25), seed=SEED)
    used = Counter(b.hormone for b in planned if b.habit.name.startswith("Photinia"))
    assert len(used) == 2
    assert min(used.values()) > 4


def test_nobody_sticks_before_they_came() -> None:
    today = date(2026, 11, 25)
    came_on = today - timedelta(days=STORY_DAYS - SECOND_TRAINEE.from_day)
    theirs = [b.stuck_on for b in plan_batches(today, seed=SEED) if b.by == SECOND_TRAINEE]
    assert theirs
    assert min(theirs) >= came_on


@pytest.mark.parametrize("today", ANCHORS)
def test_calamities_befell_the_two_years_before(today: date) -> None:
    for calamity in calamities(today):
        assert today - timedelta(days=STORY_DAYS) <= calamity.on < today
    befallen = {cause for b in plan_batches(today, seed=SEED) for _, cause in b.fate.lost_at}
    assert "mist or power failure" in befallen
