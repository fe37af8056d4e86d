"""The season as an integer programme: cuttings, batches and plants cut, week by week."""

from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

from app.domain.seasons import Season, SeasonPlan, Sticking

RELATIVE_GAP: Final = 0.01
TIME_LIMIT_S: Final = 20.0
_SHORT: Final = 10.0
_EARLY_WEEK: Final = 0.01
_BATCH: Final = 2.0
_PLANT: Final = 0.001


@dataclass(kw_only=True, frozen=True)
class _Programme:
    """Columns with their cost and bound, and rows as (place, column, value) with their bounds."""

    costs: list[float] = field(default_factory=list)
    most: list[float] = field(default_factory=list)
    entries: list[tuple[int, int, float]] = field(default_factory=list)
    bounds: list[tuple[float, float]] = field(default_factory=list)

    def column(self, *, cost: float, most: float) -> int:
        """Add a whole number from 0 to `most` and return its place."""
        self.costs.append(cost)
        self.most.append(most)
        return len(self.costs) - 1

    def row(self, terms: list[tuple[int, float]], *, low: float, high: float) -> None:
        """Add the row low <= sum of column times value <= high."""
        self.entries.extend((len(self.bounds), column, value) for column, value in terms)
        self.bounds.append((low, high))


def solve_season(
    season: Season, *, gap: float = RELATIVE_GAP, time_limit_s: float = TIME_LIMIT_S
) -> SeasonPlan:
    """Return the plan that leaves least short, then starts few batches, and none earlier than need.

    It is within `gap` of the best there is, or the best found in `time_limit_s` seconds with its
    bound. Shortage is allowed at a cost, so that there always is a plan.
    """
    programme = _Programme()
    stuck, short = _order_columns(programme, season)
    _stock_columns(programme, season, stuck=stuck)
    _room_rows(programme, season, stuck=stuck)
    if not programme.costs:
        return SeasonPlan(stickings=(), short=(), gap_share=0.0)
    found = _solved(programme, gap=gap, time_limit_s=time_limit_s)
    if found.x is None:
        # Nothing was found in the time: sticking nothing always holds.
        short_of = tuple(order.cuttings for order in season.orders)
        return SeasonPlan(stickings=(), short=short_of, gap_share=1.0, stopped_early=True)
    whole = np.round(found.x).astype(int)
    stickings = tuple(
        Sticking(order=order, week=week, cuttings=int(whole[column]))
        for (order, week), column in sorted(stuck.items(), key=lambda item: item[0][::-1])
        if whole[column] > 0
    )
    return SeasonPlan(
        stickings=stickings,
        short=tuple(int(whole[column]) for column in short),
        gap_share=float(found.mip_gap or 0.0),
        stopped_early=found.status == 1,
    )


def _solved(programme: _Programme, *, gap: float, time_limit_s: float) -> Any:
    rows, columns, values = zip(*programme.entries, strict=True)
    shape = (len(programme.bounds), len(programme.costs))
    low, high = zip(*programme.bounds, strict=True)
    matrix = coo_matrix((values, (rows, columns)), shape=shape).tocsr()
    return milp(
        np.array(programme.costs),
        integrality=np.ones(shape[1]),
        bounds=Bounds(0, np.array(programme.most)),
        constraints=LinearConstraint(matrix, np.array(low), np.array(high)),
        options={"mip_rel_gap": gap, "time_limit": time_limit_s},
    )


def _order_columns(
    programme: _Programme, season: Season
) -> tuple[dict[tuple[int, int], int], list[int]]:
    """Add what is stuck of each order, its batch starts and what is short, with their rows."""
    stuck: dict[tuple[int, int], int] = {}
    short: list[int] = []
    for place, order in enumerate(season.orders):
        weeks = order.weeks(season.weeks)
        least = min(season.least_batch, order.cuttings)
        for week in weeks:
            early = _EARLY_WEEK * (order.last_week - week)
            x = stuck[place, week] = programme.column(cost=early, most=order.cuttings)
            y = programme.column(cost=_BATCH, most=1)
            programme.row([(x, 1.0), (y, -float(order.cuttings))], low=-np.inf, high=0.0)
            programme.row([(x, 1.0), (y, -float(least))], low=0.0, high=np.inf)
        u = programme.column(cost=_SHORT, most=order.cuttings)
        short.append(u)
        terms = [(stuck[place, week], 1.0) for week in weeks]
        programme.row([*terms, (u, 1.0)], low=order.cuttings, high=order.cuttings)
    return stuck, short


def _stock_columns(
    programme: _Programme, season: Season, *, stuck: dict[tuple[int, int], int]
) -> None:
    """Add the plants cut of each group by week: enough for the cuttings, once in their rest."""
    for place, group in enumerate(season.groups):
        cut = [
            programme.column(cost=_PLANT, most=group.plants[week]) for week in range(season.weeks)
        ]
        for week in range(season.weeks):
            terms = [
                (column, 1.0)
                for (order, at), column in stuck.items()
                if at == week and season.orders[order].group == place
            ]
            if terms:
                terms.append((cut[week], -group.per_plant))
                programme.row(terms, low=-np.inf, high=0.0)
            since = max(0, week - group.rest_weeks + 1)
            resting = [(column, 1.0) for column in cut[since : week + 1]]
            programme.row(resting, low=-np.inf, high=group.plants[week])


def _room_rows(programme: _Programme, season: Season, *, stuck: dict[tuple[int, int], int]) -> None:
    """Add the bench room and the labour of each week."""
    for week in range(season.weeks):
        if season.trays is not None:
            standing = [
                (column, season.orders[order].trays_per_cutting)
                for (order, at), column in stuck.items()
                if at <= week < at + season.orders[order].bench_weeks
            ]
            if standing:
                programme.row(standing, low=-np.inf, high=season.trays[week])
        if season.labour is not None:
            work = [(column, 1.0) for (_, at), column in stuck.items() if at == week]
            if work:
                programme.row(work, low=-np.inf, high=season.labour[week])
