"""When a batch wants its next look and its next count.

A plan gives days between looks, the day of the first count and days between counts; what it
leaves open is decided by the next wider one. The most particular plan decides: the batch's own,
then that of its genus and type, of its genus, then the weeks to root on the method card (first
count only), then the whole nursery's, then the usual rhythm.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Final, TypeVar

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


class PlanLevel(StrEnum):
    """What a plan is for."""

    NURSERY = "nursery"
    GENUS = "genus"
    BATCH = "batch"


class CountSource(StrEnum):
    """Where the day of the first count comes from."""

    BATCH = "this batch's own plan"
    GENUS_AND_TYPE = "the plan for this genus and type"
    GENUS = "the plan for this genus"
    METHOD_CARD = "the weeks to root on the method card"
    NURSERY = "the plan for the whole nursery"
    USUAL = "the usual day where nothing is known"
    AUTUMN = "counted in the autumn"


@dataclass(frozen=True, kw_only=True)
class CheckPlan:
    """A plan as it was set; None leaves a number to the next wider plan.

    The day of sticking is day 0. With `looks_only` the batch is only looked at until the autumn
    and counted there first; with False it is not, even if it is lined out. With `learned` counts
    are timed by what earlier batches taught, as soon as enough is known; with False by the days.
    """

    look_every_days: int | None = None
    first_count_day: int | None = None
    count_every_days: int | None = None
    looks_only: bool | None = None
    learned: bool | None = None

    @property
    def is_blank(self) -> bool:
        """Whether it leaves everything to the next wider plan."""
        return self == CheckPlan()


BLANK_PLAN: Final = CheckPlan()


@dataclass(frozen=True, kw_only=True)
class Plans:
    """Every plan that might hold for a batch, blank where nothing is set.

    `weeks_low` is the lower end of the weeks to root on the method card of its genus and type.
    """

    batch: CheckPlan = BLANK_PLAN
    genus_and_type: CheckPlan = BLANK_PLAN
    genus: CheckPlan = BLANK_PLAN
    nursery: CheckPlan = BLANK_PLAN
    weeks_low: float | None = None

    @property
    def from_narrow(self) -> tuple[tuple[CountSource, CheckPlan], ...]:
        """The plans from the most particular to the widest, each with its name as a source."""
        card = CheckPlan(first_count_day=_card_day(self.weeks_low))
        usual = CheckPlan(
            look_every_days=LOOK_EVERY_DAYS,
            first_count_day=FIRST_COUNT_DAY,
            count_every_days=COUNT_EVERY_DAYS,
        )
        return (
            (CountSource.BATCH, self.batch),
            (CountSource.GENUS_AND_TYPE, self.genus_and_type),
            (CountSource.GENUS, self.genus),
            (CountSource.METHOD_CARD, card),
            (CountSource.NURSERY, self.nursery),
            (CountSource.USUAL, usual),
        )


@dataclass(frozen=True, kw_only=True)
class BatchPlan:
    """The plan that holds for one batch, nothing left open, and where its first count comes from.

    Where `source` is the autumn the day of the first count is the calendar's.
    """

    look_every_days: int = LOOK_EVERY_DAYS
    first_count_day: int = FIRST_COUNT_DAY
    count_every_days: int = COUNT_EVERY_DAYS
    source: CountSource = CountSource.USUAL
    southern: bool = False
    learned: bool = True


@dataclass(frozen=True, kw_only=True)
class LearnedCount:
    """When to count next by what earlier batches taught, and from which day on it is late."""

    count_on: date
    late_on: date


@dataclass(frozen=True, kw_only=True)
class NextDates:
    """When a batch is looked at and counted next; all None once it is cleared.

    `due_on` is the earlier of the two. `late_on` is the day after a look was due, or the day on
    which a count is late: the day after it was due, or later where that was learned.
    """

    look_on: date | None = None
    count_on: date | None = None
    due_on: date | None = None
    late_on: date | None = None


def choose_plan(
    plans: Plans,
    *,
    cutting_type: str = "",
    container_kind: str = "",
    southern: bool = False,
) -> BatchPlan:
    """Return the plan that holds for a batch of this type in this kind of container.

    Hardwood lined out is counted in the autumn unless a plan narrower than the nursery's says
    on which day, or that it is to be counted like others.
    """
    lined_out = cutting_type == CuttingType.HARDWOOD and container_kind == LINED_OUT
    looks_only = _first_set(tuple(plan.looks_only for _, plan in plans.from_narrow))
    source, first_count_day = next(
        (source, plan.first_count_day)
        for source, plan in plans.from_narrow
        if plan.first_count_day is not None
    )
    if looks_only or (looks_only is None and lined_out and source not in _NARROW):
        source = CountSource.AUTUMN
    days = tuple(plan.look_every_days for _, plan in plans.from_narrow)
    counts = tuple(plan.count_every_days for _, plan in plans.from_narrow)
    learned = _first_set(tuple(plan.learned for _, plan in plans.from_narrow))
    return BatchPlan(
        look_every_days=_first_set(days) or LOOK_EVERY_DAYS,
        first_count_day=first_count_day or FIRST_COUNT_DAY,
        count_every_days=_first_set(counts) or COUNT_EVERY_DAYS,
        source=source,
        southern=southern,
        learned=learned is not False and source is not CountSource.AUTUMN,
    )


def next_dates(
    chosen: BatchPlan,
    *,
    standing: Standing,
    stuck_on: date,
    learned: LearnedCount | None = None,
) -> NextDates:
    """Return when the batch is due next after the checks it has had.

    `learned` stands in for the plan's days between counts where the plan lets it.
    """
    if standing.unrooted == 0:
        return NextDates()
    looked_on = standing.last_looked_on or stuck_on
    look_on = looked_on + timedelta(days=chosen.look_every_days)
    if learned is None or not chosen.learned:
        count_on = _next_count(chosen, counted_on=standing.counted_on, stuck_on=stuck_on)
        count_late_on = count_on + timedelta(days=1)
    else:
        count_on, count_late_on = learned.count_on, learned.late_on
    return NextDates(
        look_on=look_on,
        count_on=count_on,
        due_on=min(look_on, count_on),
        late_on=min(look_on + timedelta(days=1), count_late_on),
    )


def autumn_count_on(stuck_on: date, *, southern: bool = False) -> date:
    """Return the first of October (of April in the south) at least twelve weeks after sticking."""
    earliest = stuck_on + timedelta(days=DAYS_BEFORE_AUTUMN_COUNT)
    month = AUTUMN_MONTH_SOUTH if southern else AUTUMN_MONTH_NORTH
    first = date(earliest.year, month, 1)
    return first if first >= earliest else date(earliest.year + 1, month, 1)


def accepted_plan(plan: CheckPlan) -> CheckPlan:
    """Return the plan if every number that is set is from 1 to 730 days.

    Raises:
        NotAccepted: for each number that is out of range.
    """
    numbers = {
        "look_every_days": plan.look_every_days,
        "first_count_day": plan.first_count_day,
        "count_every_days": plan.count_every_days,
    }
    sentence = f"Give a number of days from 1 to {MOST_DAYS}, or leave it blank."
    wrong = tuple(
        Problem(field=field, sentence=sentence)
        for field, days in numbers.items()
        if days is not None and not 1 <= days <= MOST_DAYS
    )
    if wrong:
        raise NotAccepted(wrong)
    return plan


def plan_words(chosen: BatchPlan) -> str:
    """Return the plan that holds for a batch in words, and whether what was learned goes first."""
    if chosen.source is CountSource.AUTUMN:
        first = "in the autumn"
    else:
        first = f"on day {chosen.first_count_day} ({chosen.source})"
    return (
        f"A look every {_days(chosen.look_every_days)}, the first count {first}, "
        f"then a count every {_days(chosen.count_every_days)}.{_learned_words(chosen)}"
    )


def _learned_words(chosen: BatchPlan) -> str:
    if chosen.source is CountSource.AUTUMN:
        return ""
    if not chosen.learned:
        return " Counts always go by these days."
    return (
        " Once earlier batches of the genus have taught how fast it roots, counts go by that"
        " instead."
    )


_NARROW: Final = frozenset({CountSource.BATCH, CountSource.GENUS_AND_TYPE, CountSource.GENUS})
_Set = TypeVar("_Set", int, bool)


def _first_set(values: tuple[_Set | None, ...]) -> _Set | None:
    return next((value for value in values if value is not None), None)


def _card_day(weeks_low: float | None) -> int | None:
    return max(1, round(weeks_low * DAYS_PER_WEEK)) if weeks_low else None


def _days(days: int) -> str:
    return "day" if days == 1 else f"{days} days"


def _next_count(chosen: BatchPlan, *, counted_on: date | None, stuck_on: date) -> date:
    if counted_on:
        return counted_on + timedelta(days=chosen.count_every_days)
    if chosen.source is CountSource.AUTUMN:
        return autumn_count_on(stuck_on, southern=chosen.southern)
    return stuck_on + timedelta(days=chosen.first_count_day)
