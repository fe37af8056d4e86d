"""When a batch wants its next look and its next count.

A plan gives days between looks, the day of the first count and days between counts. The most
particular plan decides: the batch's own, then that of its genus and type, then the weeks to root
on the method card, then the nursery's.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

from app.domain.cutting_types import CuttingType
from app.domain.outcomes import Standing
from app.domain.problems import NotAccepted, Problem

# Weekly look at shading, diseases and pests: K. A. Longman 1993, Rooting Cuttings of Tropical
# Trees, Commonwealth Science Council, sheet A 50 (CONFIRMED). The other two are common practice,
# no source.
LOOK_EVERY_DAYS: Final = 7
FIRST_COUNT_DAY: Final = 21
COUNT_EVERY_DAYS: Final = 14

DAYS_PER_WEEK: Final = 7
MOST_DAYS: Final = 730
LINED_OUT: Final = "lined out"
AUTUMN_MONTH_NORTH: Final = 10
AUTUMN_MONTH_SOUTH: Final = 4
# Bare wood set in the open ground in late summer is not counted in the same autumn (common
# practice, no source).
DAYS_BEFORE_AUTUMN_COUNT: Final = 84


class PlanSource(StrEnum):
    """Where the day of the first count comes from."""

    BATCH = "this batch's own plan"
    GENUS_AND_TYPE = "the plan for this genus and type"
    METHOD_CARD = "the weeks to root on the method card"
    NURSERY = "the plan for the whole nursery"
    AUTUMN = "counted in the autumn, being lined out"


@dataclass(frozen=True, kw_only=True)
class CheckPlan:
    """Days between looks, day of the first count (sticking is day 0), days between counts."""

    look_every_days: int = LOOK_EVERY_DAYS
    first_count_day: int = FIRST_COUNT_DAY
    count_every_days: int = COUNT_EVERY_DAYS


@dataclass(frozen=True, kw_only=True)
class BatchPlan:
    """The plan that holds for one batch and where its first count comes from."""

    plan: CheckPlan
    source: PlanSource
    southern: bool = False


@dataclass(frozen=True, kw_only=True)
class Plans:
    """Every plan that might hold for a batch; None where nothing is set.

    `weeks_low` is the lower end of the weeks to root on the method card.
    """

    batch: CheckPlan | None = None
    genus_and_type: CheckPlan | None = None
    nursery: CheckPlan = CheckPlan()
    weeks_low: float | None = None


@dataclass(frozen=True, kw_only=True)
class NextDates:
    """When a batch is looked at and counted next; all None once it is cleared.

    `due_on` is the earlier of the two, `late_on` the day after.
    """

    look_on: date | None = None
    count_on: date | None = None
    due_on: date | None = None
    late_on: date | None = None


def choose_plan(
    plans: Plans,
    *,
    cutting_type: CuttingType | None = None,
    container: str = "",
    southern: bool = False,
) -> BatchPlan:
    """Return the plan that holds for a batch of this type in this kind of container."""
    if plans.batch:
        return BatchPlan(plan=plans.batch, source=PlanSource.BATCH)
    if plans.genus_and_type:
        return BatchPlan(plan=plans.genus_and_type, source=PlanSource.GENUS_AND_TYPE)
    if cutting_type is CuttingType.HARDWOOD and container == LINED_OUT:
        return BatchPlan(plan=plans.nursery, source=PlanSource.AUTUMN, southern=southern)
    if plans.weeks_low:
        return BatchPlan(plan=_by_card(plans), source=PlanSource.METHOD_CARD)
    return BatchPlan(plan=plans.nursery, source=PlanSource.NURSERY)


def next_dates(chosen: BatchPlan, *, standing: Standing, stuck_on: date) -> NextDates:
    """Return when the batch is due next after the checks it has had."""
    if standing.unrooted == 0:
        return NextDates()
    look_after = timedelta(days=chosen.plan.look_every_days)
    look_on = (standing.last_looked_on or stuck_on) + look_after
    count_on = _next_count(chosen, counted_on=standing.counted_on, stuck_on=stuck_on)
    due_on = min(look_on, count_on)
    return NextDates(
        look_on=look_on, count_on=count_on, due_on=due_on, late_on=due_on + timedelta(days=1)
    )


def autumn_count_on(stuck_on: date, *, southern: bool = False) -> date:
    """Return the first of October (of April in the south) at least twelve weeks after sticking."""
    earliest = stuck_on + timedelta(days=DAYS_BEFORE_AUTUMN_COUNT)
    month = AUTUMN_MONTH_SOUTH if southern else AUTUMN_MONTH_NORTH
    first = date(earliest.year, month, 1)
    return first if first >= earliest else date(earliest.year + 1, month, 1)


def check_plan_of(
    *, look_every_days: int, first_count_day: int, count_every_days: int
) -> CheckPlan:
    """Return the plan typed, every number being from 1 to 730 days.

    Raises:
        NotAccepted: for each number that is out of range.
    """
    numbers = {
        "look_every_days": look_every_days,
        "first_count_day": first_count_day,
        "count_every_days": count_every_days,
    }
    sentence = f"Give a number of days from 1 to {MOST_DAYS}."
    wrong = tuple(
        Problem(field=field, sentence=sentence)
        for field, days in numbers.items()
        if not 1 <= days <= MOST_DAYS
    )
    if wrong:
        raise NotAccepted(wrong)
    return CheckPlan(
        look_every_days=look_every_days,
        first_count_day=first_count_day,
        count_every_days=count_every_days,
    )


def plan_words(plan: CheckPlan, *, autumn: bool = False) -> str:
    """Return the plan in a sentence."""
    first = "in the autumn" if autumn else f"on day {plan.first_count_day}"
    return (
        f"A look every {_days(plan.look_every_days)}, the first count {first}, "
        f"then a count every {_days(plan.count_every_days)}."
    )


def _days(days: int) -> str:
    return "day" if days == 1 else f"{days} days"


def _by_card(plans: Plans) -> CheckPlan:
    return CheckPlan(
        look_every_days=plans.nursery.look_every_days,
        first_count_day=max(1, round((plans.weeks_low or 0) * DAYS_PER_WEEK)),
        count_every_days=plans.nursery.count_every_days,
    )


def _next_count(chosen: BatchPlan, *, counted_on: date | None, stuck_on: date) -> date:
    if counted_on:
        return counted_on + timedelta(days=chosen.plan.count_every_days)
    if chosen.source is PlanSource.AUTUMN:
        return autumn_count_on(stuck_on, southern=chosen.southern)
    return stuck_on + timedelta(days=chosen.plan.first_count_day)
