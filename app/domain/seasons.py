"""A season of sticking: what is wanted in which weeks, what limits it, and whether a plan holds.

Weeks are counted from 0, the week in which the plan is made; weeks already past are no weeks here.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from math import ceil

_SLACK = 1e-6


class Limit(StrEnum):
    """What can stop an order from being stuck in full."""

    TIME = "time"
    BENCH = "bench space"
    STOCK = "stock plants"
    LABOUR = "labour"


@dataclass(frozen=True, kw_only=True)
class SeasonOrder:
    """So many cuttings to be stuck from `first_week` to `last_week`.

    They come from stock group `group` (None where no stock plants limit them) and fill
    `trays_per_cutting` each for `bench_weeks`. An order whose last week is below 0 is too late.
    """

    name: str
    cuttings: int
    first_week: int
    last_week: int
    bench_weeks: int
    trays_per_cutting: float
    group: int | None = None

    def weeks(self, season_weeks: int) -> range:
        """Return the weeks in which it can be stuck."""
        return range(max(self.first_week, 0), min(self.last_week, season_weeks - 1) + 1)


@dataclass(frozen=True, kw_only=True)
class StockGroup:
    """Stock plants of one name: how many can be cut by each week, and what each cut gives.

    `plants` has a number for each week, never falling: plants that rest join when rested.
    """

    name: str
    plants: tuple[int, ...]
    per_plant: float
    rest_weeks: int


@dataclass(frozen=True, kw_only=True)
class Season:
    """All there is to plan: `trays` and `labour` (cuttings) for each week, None for no limit."""

    weeks: int
    orders: tuple[SeasonOrder, ...]
    groups: tuple[StockGroup, ...] = ()
    trays: tuple[float, ...] | None = None
    labour: tuple[int, ...] | None = None
    least_batch: int = 1


@dataclass(frozen=True, kw_only=True)
class Sticking:
    """One batch of the plan: so many cuttings of an order in a week."""

    order: int
    week: int
    cuttings: int


@dataclass(frozen=True, kw_only=True)
class SeasonPlan:
    """What to stick when. `short` are cuttings missing by order; `gap_share` bounds what a longer
    search could still save of the plan's cost, 0 where none could.
    """

    stickings: tuple[Sticking, ...]
    short: tuple[int, ...]
    gap_share: float
    stopped_early: bool = False


def trays_used(season: Season, *, stickings: tuple[Sticking, ...]) -> list[float]:
    """Return the trays occupied in each week."""
    used = [0.0] * season.weeks
    for each in stickings:
        order = season.orders[each.order]
        for week in range(each.week, min(each.week + order.bench_weeks, season.weeks)):
            used[week] += each.cuttings * order.trays_per_cutting
    return used


def plants_cut(season: Season, *, stickings: tuple[Sticking, ...], group: int) -> list[int]:
    """Return how many stock plants of a group are cut in each week, whole plants only."""
    cuttings = [0] * season.weeks
    for each in stickings:
        if season.orders[each.order].group == group:
            cuttings[each.week] += each.cuttings
    return [ceil(number / season.groups[group].per_plant - _SLACK) for number in cuttings]


def broken_limits(season: Season, *, plan: SeasonPlan) -> Iterator[str]:
    """Yield a sentence for each limit that a plan does not hold; none of a sound plan."""
    yield from _wrong_stickings(season, plan)
    yield from _over(trays_used(season, stickings=plan.stickings), most=season.trays, what="trays")
    by_week = [0.0] * season.weeks
    for each in plan.stickings:
        by_week[each.week] += each.cuttings
    yield from _over(by_week, most=season.labour, what="cuttings")
    for place, group in enumerate(season.groups):
        cut = plants_cut(season, stickings=plan.stickings, group=place)
        for week in range(season.weeks):
            together = sum(cut[max(0, week - group.rest_weeks + 1) : week + 1])
            if together > group.plants[week]:
                yield f"{group.name}: {together} plants cut within their rest in week {week}"


def stopping_limit(season: Season, *, plan: SeasonPlan, order: int) -> Limit | None:
    """Return what keeps an order short: the limit with the least room left in its weeks."""
    wanted = season.orders[order]
    if not plan.short[order]:
        return None
    weeks = wanted.weeks(season.weeks)
    if not weeks:
        return Limit.TIME
    rooms = {
        Limit.BENCH: _bench_room(season, plan, wanted=wanted),
        Limit.STOCK: _stock_room(season, plan, wanted=wanted),
        Limit.LABOUR: _labour_room(season, plan, wanted=wanted),
    }
    return min(rooms, key=lambda limit: rooms[limit])


def _wrong_stickings(season: Season, plan: SeasonPlan) -> Iterator[str]:
    stuck = [0] * len(season.orders)
    for each in plan.stickings:
        order = season.orders[each.order]
        stuck[each.order] += each.cuttings
        if each.week not in order.weeks(season.weeks):
            yield f"{order.name} is stuck in week {each.week}, outside its weeks"
        if each.cuttings < min(season.least_batch, order.cuttings):
            yield f"{order.name}: {each.cuttings} cuttings are too few for a batch"
    for order, number, short in zip(season.orders, stuck, plan.short, strict=True):
        if number + short != order.cuttings or short < 0:
            yield f"{order.name}: {number} stuck and {short} short are not {order.cuttings}"


def _over(used: list[float], *, most: tuple[float, ...] | None, what: str) -> Iterator[str]:
    for week, (number, limit) in enumerate(zip(used, most or used, strict=True)):
        if number > limit + _SLACK:
            yield f"{number:g} {what} in week {week} are more than {limit:g}"


def _bench_room(season: Season, plan: SeasonPlan, *, wanted: SeasonOrder) -> float:
    if season.trays is None:
        return float("inf")
    used = trays_used(season, stickings=plan.stickings)
    free = [most - number for most, number in zip(season.trays, used, strict=True)]
    return max(
        min(free[week : week + wanted.bench_weeks]) / wanted.trays_per_cutting
        for week in wanted.weeks(season.weeks)
    )


def _stock_room(season: Season, plan: SeasonPlan, *, wanted: SeasonOrder) -> float:
    if wanted.group is None:
        return float("inf")
    group = season.groups[wanted.group]
    cut = plants_cut(season, stickings=plan.stickings, group=wanted.group)
    rest = group.rest_weeks
    free = [
        min(
            group.plants[end] - sum(cut[max(0, end - rest + 1) : end + 1])
            for end in range(week, min(week + rest, season.weeks))
        )
        for week in wanted.weeks(season.weeks)
    ]
    return max(free) * group.per_plant


def _labour_room(season: Season, plan: SeasonPlan, *, wanted: SeasonOrder) -> float:
    if season.labour is None:
        return float("inf")
    by_week = [0] * season.weeks
    for each in plan.stickings:
        by_week[each.week] += each.cuttings
    return max(season.labour[week] - by_week[week] for week in wanted.weeks(season.weeks))
