"""The season worked out: how many each order needs, what there is room for, what stops which.

An order's number depends on its batches, so the season is planned with as many as it asks for, the
numbers are reckoned anew from the batches found, and it is planned once more.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import ceil
from typing import Final

from app.domain.days import iso_week
from app.domain.order_plans import OrderPlan, PlanAsked, PlanBasis, plan_order
from app.domain.orders import NotPlannable
from app.domain.season_lines import broken_by, monday_of, season_beside, weeks_from
from app.domain.season_programmes import TIME_LIMIT_S, solve_season
from app.domain.seasons import (
    Limit,
    Season,
    SeasonOrder,
    SeasonPlan,
    Sticking,
    StockGroup,
    stopping_limit,
)

SEASON_WEEKS: Final = 53
USUAL_PER_TRAY: Final = 84
LEAST_BATCH: Final = 20
_WEEK: Final = 7


@dataclass(frozen=True, kw_only=True)
class WishStock:
    """The stock plants of a wish: `fit` may be cut now, `kept` once the weeks of rest are over."""

    name: str
    fit: int
    kept: int
    per_plant: float
    rest_weeks: int


@dataclass(frozen=True, kw_only=True)
class SeasonWish:
    """An order to be planned, and `stuck`, the cuttings that count to it already.

    `stock` is None where nothing is known of what its stock plants give.
    """

    name: str
    plant: str
    asked: PlanAsked
    basis: PlanBasis
    window_weeks: int
    stuck: int = 0
    stock: WishStock | None = None


@dataclass(frozen=True, kw_only=True)
class SeasonRoom:
    """Trays free in each week and cuttings stuck in each week, None for no limit."""

    trays: int | None = None
    labour: int | None = None
    per_tray: int = USUAL_PER_TRAY


@dataclass(frozen=True, kw_only=True)
class FixedLine:
    """A batch set by hand: so many cuttings of the order of this name in the week of a Monday."""

    order: str
    week_on: date
    cuttings: int


@dataclass(frozen=True, kw_only=True)
class SeasonLine:
    """A batch to stick in the week of a Monday; or what is short of an order, and what stops it.

    `short` is None where no number can be given for the order at all; a batch has none short.
    """

    order: str
    plant: str
    week_on: date | None = None
    cuttings: int = 0
    trays: int = 0
    short: int | None = 0
    limit: str = ""

    @property
    def week(self) -> str:
        """The week, such as "2027-W05", "" where it is not stuck."""
        return iso_week(self.week_on) if self.week_on else ""


@dataclass(frozen=True, kw_only=True)
class SeasonAnswer:
    """Batches by week, then what is short. `gap_share` bounds what more searching could save."""

    lines: tuple[SeasonLine, ...]
    gap_share: float
    stopped_early: bool


def plan_wishes(
    wishes: Sequence[SeasonWish],
    *,
    room: SeasonRoom,
    today: date,
    fixed: Sequence[FixedLine] = (),
    time_limit_s: float = TIME_LIMIT_S,
) -> SeasonAnswer:
    """Return which batch to stick in which week beside what is fixed, and what cannot be met."""
    by_hand = fixed_stickings(wishes, fixed=fixed, today=today)
    plans = [plan_order(wish.asked, basis=wish.basis, today=today) for wish in wishes]
    season = season_beside(_season(wishes, plans, room=room, today=today), fixed=by_hand)
    found = solve_season(season, time_limit_s=time_limit_s)
    batches = [
        max(1, sum(each.order == place for each in (*by_hand, *found.stickings)))
        for place in range(len(plans))
    ]
    if batches != [wish.asked.batches for wish in wishes]:
        plans = _plans_in(wishes, batches, today=today)
        season = season_beside(_season(wishes, plans, room=room, today=today), fixed=by_hand)
        found = solve_season(season, time_limit_s=time_limit_s)
    return SeasonAnswer(
        lines=(
            *_batches(wishes, found, season=season, today=today),
            *_shortages(wishes, plans, found=found, season=season),
        ),
        gap_share=found.gap_share,
        stopped_early=found.stopped_early,
    )


def judge_lines(
    wishes: Sequence[SeasonWish], *, lines: Sequence[FixedLine], room: SeasonRoom, today: date
) -> tuple[tuple[SeasonLine, ...], tuple[tuple[str, str], ...]]:
    """Return what is short of each order with these lines, and (week, what) of limits not kept."""
    stickings = fixed_stickings(wishes, fixed=lines, today=today)
    batches = [
        max(1, sum(each.order == place for each in stickings)) for place in range(len(wishes))
    ]
    plans = _plans_in(wishes, batches, today=today)
    season = _season(wishes, plans, room=room, today=today)
    left = season_beside(season, fixed=stickings)
    short = tuple(
        SeasonLine(
            order=wish.name,
            plant=wish.plant,
            short=None if plan.stick is None else order.cuttings,
            limit=(plan.refusal or NotPlannable.NOTHING_KNOWN).value if plan.stick is None else "",
        )
        for wish, plan, order in zip(wishes, plans, left.orders, strict=True)
        if plan.stick is None or order.cuttings
    )
    broken = tuple(
        (iso_week(monday_of(today) + timedelta(weeks=week)), what)
        for week, what in broken_by(season, lines=stickings)
    )
    return short, broken


def fixed_stickings(
    wishes: Sequence[SeasonWish], *, fixed: Sequence[FixedLine], today: date
) -> tuple[Sticking, ...]:
    """Return the lines as the programme counts them; those of other orders and weeks left out."""
    places = {wish.name: place for place, wish in enumerate(wishes)}
    return tuple(
        Sticking(order=places[line.order], week=week, cuttings=line.cuttings)
        for line in fixed
        if line.order in places
        and 0 <= (week := weeks_from(line.week_on, today=today)) < SEASON_WEEKS
    )


def _plans_in(
    wishes: Sequence[SeasonWish], batches: Sequence[int], *, today: date
) -> list[OrderPlan]:
    return [
        plan_order(replace(wish.asked, batches=number), basis=wish.basis, today=today)
        for wish, number in zip(wishes, batches, strict=True)
    ]


def _season(
    wishes: Sequence[SeasonWish], plans: Sequence[OrderPlan], *, room: SeasonRoom, today: date
) -> Season:
    names = sorted({wish.stock.name for wish in wishes if wish.stock})
    by_name = {wish.stock.name: wish.stock for wish in wishes if wish.stock}
    orders = tuple(
        _order(wish, plan, today=today, names=names, room=room)
        for wish, plan in zip(wishes, plans, strict=True)
    )
    return Season(
        weeks=SEASON_WEEKS,
        orders=orders,
        groups=tuple(_group(by_name[name]) for name in names),
        trays=None if room.trays is None else (float(room.trays),) * SEASON_WEEKS,
        labour=None if room.labour is None else (room.labour,) * SEASON_WEEKS,
        least_batch=LEAST_BATCH,
    )


def _order(
    wish: SeasonWish, plan: OrderPlan, *, today: date, names: list[str], room: SeasonRoom
) -> SeasonOrder:
    """Return the order for the programme; late ones are stuck this week, if that can still do."""
    last = (monday_of(plan.stick_on) - monday_of(today)).days // _WEEK
    return SeasonOrder(
        name=wish.name,
        cuttings=max(0, (plan.stick or 0) - wish.stuck),
        first_week=last - wish.window_weeks + 1,
        last_week=last,
        bench_weeks=max(1, ceil(wish.basis.times.days_until() / _WEEK)),
        trays_per_cutting=1 / (room.per_tray * wish.asked.per_place),
        group=names.index(wish.stock.name) if wish.stock else None,
    )


def _group(stock: WishStock) -> StockGroup:
    rest = max(1, stock.rest_weeks)
    return StockGroup(
        name=stock.name,
        plants=tuple(stock.fit if week < rest else stock.kept for week in range(SEASON_WEEKS)),
        per_plant=stock.per_plant,
        rest_weeks=rest,
    )


def _batches(
    wishes: Sequence[SeasonWish], found: SeasonPlan, *, season: Season, today: date
) -> list[SeasonLine]:
    return [
        SeasonLine(
            order=wishes[each.order].name,
            plant=wishes[each.order].plant,
            week_on=monday_of(today) + timedelta(weeks=each.week),
            cuttings=each.cuttings,
            trays=ceil(each.cuttings * season.orders[each.order].trays_per_cutting - 1e-9),
        )
        for each in found.stickings
    ]


def _shortages(
    wishes: Sequence[SeasonWish],
    plans: Sequence[OrderPlan],
    *,
    found: SeasonPlan,
    season: Season,
) -> list[SeasonLine]:
    lines = []
    for place, (wish, plan) in enumerate(zip(wishes, plans, strict=True)):
        limit = stopping_limit(season, plan=found, order=place)
        if plan.stick is None:
            words = (plan.refusal or NotPlannable.NOTHING_KNOWN).value
            lines.append(SeasonLine(order=wish.name, plant=wish.plant, short=None, limit=words))
        elif limit is not None:
            words = _limit_words(limit, wish)
            short = found.short[place]
            lines.append(SeasonLine(order=wish.name, plant=wish.plant, short=short, limit=words))
    return lines


def _limit_words(limit: Limit, wish: SeasonWish) -> str:
    if limit is Limit.STOCK and wish.stock:
        return f"{limit.value}: {wish.stock.fit:,} fit to cut of {wish.stock.kept:,}"
    return limit.value
