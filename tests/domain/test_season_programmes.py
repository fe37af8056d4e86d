"""The season's integer programme: by hand, against brute force, and by an independent checker."""

from itertools import product

import numpy as np
import pytest

from app.domain.season_programmes import solve_season
from app.domain.seasons import (
    Limit,
    Season,
    SeasonOrder,
    SeasonPlan,
    Sticking,
    StockGroup,
    broken_limits,
    stopping_limit,
)


def order(**given: object) -> SeasonOrder:
    usual = {
        "name": "order 1", "cuttings": 300, "first_week": 0, "last_week": 3, "bench_weeks": 2,
        "trays_per_cutting": 0.01, "group": None,
    }  # fmt: skip
    return SeasonOrder(**(usual | given))  # type: ignore[arg-type]


def test_one_order_without_limits_is_stuck_in_its_last_week() -> None:
    plan = solve_season(Season(weeks=6, orders=(order(),)))
    assert plan.stickings == (Sticking(order=0, week=3, cuttings=300),)
    assert (plan.short, plan.stopped_early) == ((0,), False)


def test_a_narrow_bench_spreads_it_by_hand() -> None:
    # 1.5 trays hold 150 cuttings for two weeks: 150 in week 3 and 150 in week 1.
    season = Season(weeks=6, orders=(order(),), trays=(1.5,) * 6)
    plan = solve_season(season, gap=0.0)
    assert [(each.week, each.cuttings) for each in plan.stickings] == [(1, 150), (3, 150)]


def test_stock_plants_rest_between_cuts() -> None:
    # 20 plants of 5 give 100 at a cut, in four weeks with two of rest twice: 200 of 300.
    group = StockGroup(name="Hebe", plants=(20,) * 6, per_plant=5, rest_weeks=2)
    season = Season(weeks=6, orders=(order(group=0),), groups=(group,))
    plan = solve_season(season)
    assert plan.short == (100,)
    assert stopping_limit(season, plan=plan, order=0) is Limit.STOCK
    assert list(broken_limits(season, plan=plan)) == []


def test_what_stops_an_order_is_named() -> None:
    bench = Season(weeks=4, orders=(order(bench_weeks=4),), trays=(1.0,) * 4)
    assert stopping_limit(bench, plan=solve_season(bench), order=0) is Limit.BENCH
    labour = Season(weeks=4, orders=(order(),), labour=(50,) * 4)
    plan = solve_season(labour)
    assert plan.short == (100,)
    assert stopping_limit(labour, plan=plan, order=0) is Limit.LABOUR
    late = Season(weeks=4, orders=(order(first_week=-5, last_week=-1),))
    plan = solve_season(late)
    assert (plan.short, plan.stickings) == ((300,), ())
    assert stopping_limit(late, plan=plan, order=0) is Limit.TIME
    met = Season(weeks=4, orders=(order(),))
    assert stopping_limit(met, plan=solve_season(met), order=0) is None


def test_nothing_to_plan() -> None:
    assert solve_season(Season(weeks=4, orders=())).stickings == ()


def test_batches_are_not_too_small() -> None:
    season = Season(weeks=4, orders=(order(),), labour=(260, 260, 260, 260), least_batch=100)
    plan = solve_season(season, gap=0.0)
    assert min(each.cuttings for each in plan.stickings) >= 100
    assert list(broken_limits(season, plan=plan)) == []


def test_the_checker_finds_what_is_broken() -> None:
    group = StockGroup(name="Hebe", plants=(2,) * 4, per_plant=10, rest_weeks=3)
    season = Season(
        weeks=4,
        orders=(order(group=0, last_week=2),),
        groups=(group,),
        trays=(1.0,) * 4,
        labour=(100,) * 4,
        least_batch=10,
    )
    stickings = (
        Sticking(order=0, week=3, cuttings=5),
        Sticking(order=0, week=2, cuttings=150),
    )
    plan = SeasonPlan(stickings=stickings, short=(1,), gap_share=0.0)
    found = "; ".join(broken_limits(season, plan=plan))
    for words in ("outside its weeks", "too few", "are not 300", "trays", "150 cuttings", "rest"):
        assert words in found


def small_season(seed: int) -> Season:
    chance = np.random.default_rng(seed)
    orders = tuple(
        order(
            name=f"order {place}",
            cuttings=int(chance.integers(2, 5)),
            last_week=int(chance.integers(0, 3)),
            bench_weeks=int(chance.integers(1, 3)),
            trays_per_cutting=1.0,
            group=0,
        )
        for place in range(2)
    )
    group = StockGroup(name="Hebe", plants=(2, 2, 3), per_plant=2, rest_weeks=2)
    return Season(weeks=3, orders=orders, groups=(group,), trays=(4.0, 4.0, 5.0))


def cost(season: Season, plan: SeasonPlan) -> float:
    """Return the cost of a plan, reckoned apart from the programme."""
    whole = 10.0 * sum(plan.short) + 2.0 * len(plan.stickings)
    plants = [0] * season.weeks
    for each in plan.stickings:
        whole += 0.01 * (season.orders[each.order].last_week - each.week) * each.cuttings
        plants[each.week] += each.cuttings
    return whole + 0.001 * sum(-(-number // 2) for number in plants)


def best_by_trying_all(season: Season) -> float:
    slots = [(place, week) for place, each in enumerate(season.orders) for week in each.weeks(3)]
    best = float("inf")
    for numbers in product(*(range(season.orders[place].cuttings + 1) for place, _ in slots)):
        stickings = tuple(
            Sticking(order=place, week=week, cuttings=number)
            for (place, week), number in zip(slots, numbers, strict=True)
            if number
        )
        stuck = [sum(s.cuttings for s in stickings if s.order == place) for place in range(2)]
        short = tuple(
            each.cuttings - number for each, number in zip(season.orders, stuck, strict=True)
        )
        plan = SeasonPlan(stickings=stickings, short=short, gap_share=0.0)
        if (
            min(short) >= 0
            and cost(season, plan) < best
            and not [*broken_limits(season, plan=plan)]
        ):
            best = cost(season, plan)
    return best


@pytest.mark.parametrize("seed", range(8))
def test_no_plan_is_better_among_all_there_are(seed: int) -> None:
    season = small_season(seed)
    plan = solve_season(season, gap=0.0)
    assert list(broken_limits(season, plan=plan)) == []
    assert cost(season, plan) == pytest.approx(best_by_trying_all(season), abs=1e-6)


def large_season(seed: int) -> Season:
    """Return 40 orders over 52 weeks from 30 stock groups, with a bench that is rather small."""
    chance = np.random.default_rng(seed)
    orders = tuple(
        order(
            name=f"order {place}",
            cuttings=int(chance.integers(100, 900)),
            first_week=(last := int(chance.integers(4, 50))) - int(chance.integers(2, 8)),
            last_week=last,
            bench_weeks=int(chance.integers(5, 12)),
            trays_per_cutting=1 / 84,
            group=int(chance.integers(0, 30)),
        )
        for place in range(40)
    )
    groups = tuple(
        StockGroup(
            name=f"group {place}",
            plants=(int(chance.integers(20, 90)),) * 52,
            per_plant=8,
            rest_weeks=4,
        )
        for place in range(30)
    )
    return Season(weeks=52, orders=orders, groups=groups, trays=(50.0,) * 52, least_batch=20)


def test_a_whole_season_holds_every_limit_within_its_gap() -> None:
    season = large_season(1)
    plan = solve_season(season)
    assert list(broken_limits(season, plan=plan)) == []
    assert not plan.stopped_early
    assert plan.gap_share <= 0.01
    assert 0 < sum(plan.short) < sum(each.cuttings for each in season.orders) / 2
    limits = [stopping_limit(season, plan=plan, order=place) for place in range(40)]
    assert [bool(limit) for limit in limits] == [bool(short) for short in plan.short]


def test_stopped_early_it_says_so() -> None:
    plan = solve_season(large_season(2), time_limit_s=0.0)
    assert plan.stopped_early
    assert plan.gap_share > 0
