"""The board's lines: what is fixed by hand is taken as given, by hand and by the checker."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.domain.problems import NotAccepted
from app.domain.season_lines import (
    SeasonLineEntry,
    accepted_line,
    broken_by,
    monday_of,
    season_beside,
    weeks_from,
)
from app.domain.season_programmes import solve_season
from app.domain.seasons import Season, SeasonOrder, SeasonPlan, Sticking, StockGroup, broken_limits

TODAY = date(2026, 11, 25)
MONDAY = date(2026, 11, 23)
WEEKS = 6
ORDER = SeasonOrder(
    name="order 1", cuttings=300, first_week=0, last_week=5, bench_weeks=2,
    trays_per_cutting=0.01, group=0,
)  # fmt: skip
GROUP = StockGroup(name="Hebe", plants=(40,) * WEEKS, per_plant=5, rest_weeks=2)
SEASON = Season(
    weeks=WEEKS, orders=(ORDER, replace(ORDER, name="order 2", group=None)), groups=(GROUP,),
    trays=(3.0,) * WEEKS, labour=(250,) * WEEKS, least_batch=20,
)  # fmt: skip


def test_what_a_fixed_line_uses_is_gone() -> None:
    # 100 cuttings in week 2: 1 tray in weeks 2 and 3, 20 plants of 5, which rest in week 3.
    left = season_beside(SEASON, fixed=[Sticking(order=0, week=2, cuttings=100)])
    assert [order.cuttings for order in left.orders] == [200, 300]
    assert left.trays == (3.0, 3.0, 2.0, 2.0, 3.0, 3.0)
    assert left.labour == (250, 250, 150, 250, 250, 250)
    assert left.groups[0].plants == (40, 40, 20, 20, 40, 40)


def test_more_than_there_is_leaves_nothing_and_is_said() -> None:
    lines = [Sticking(order=0, week=1, cuttings=400)]
    left = season_beside(SEASON, fixed=lines)
    assert left.orders[0].cuttings == 0
    assert left.trays is not None
    assert left.trays[1:3] == (0.0, 0.0)
    assert left.labour is not None
    assert left.labour[1] == 0
    assert left.groups[0].plants[1:3] == (0, 0)
    assert list(broken_by(SEASON, lines=lines)) == [
        (1, "4 trays, where 3 have room"),
        (1, "400 cuttings, where 250 can be stuck"),
        (2, "4 trays, where 3 have room"),
        (1, "80 stock plants of Hebe, where 40 are fit to cut"),
    ]


def test_lines_within_the_limits_break_none() -> None:
    lines = [Sticking(order=0, week=0, cuttings=200), Sticking(order=0, week=2, cuttings=100)]
    assert list(broken_by(SEASON, lines=lines)) == []
    unlimited = replace(SEASON, trays=None, labour=None, groups=())
    assert season_beside(unlimited, fixed=()).trays is None
    assert season_beside(unlimited, fixed=()).labour is None


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.builds(
            Sticking,
            order=st.integers(0, 1),
            week=st.integers(0, WEEKS - 1),
            cuttings=st.integers(20, 60),
        ),
        max_size=3,
        unique_by=lambda each: (each.order, each.week),
    )
)
def test_fixed_and_planned_lines_together_keep_every_limit(fixed: list[Sticking]) -> None:
    left = season_beside(SEASON, fixed=fixed)
    plan = solve_season(left, gap=0.0, time_limit_s=5.0)
    # The checker of whole plans takes both; plants are cut in whole ones for each.
    assert list(broken_limits(left, plan=plan)) == []
    both = (*fixed, *plan.stickings)
    found = [what for _, what in broken_by(SEASON, lines=both)]
    assert found == []
    for place, order in enumerate(SEASON.orders):
        stuck = sum(each.cuttings for each in both if each.order == place)
        assert stuck + plan.short[place] == order.cuttings
    assert isinstance(plan, SeasonPlan)


def test_any_day_of_a_week_means_its_monday() -> None:
    entry = SeasonLineEntry(order_number=1, week_on=TODAY, cuttings=60, note="  by  hand ")
    tidy = accepted_line(entry, today=TODAY)
    assert (tidy.week_on, tidy.note) == (MONDAY, "by hand")
    assert monday_of(MONDAY) == MONDAY
    # 2026 has an ISO week 53, so that week 1 of 2027 is six weeks on (ISO 8601).
    assert weeks_from(date(2027, 1, 4), today=TODAY) == 6
    assert weeks_from(MONDAY - timedelta(weeks=1), today=TODAY) == -1


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"week_on": MONDAY - timedelta(days=1)}, "week"),
        ({"week_on": date(2200, 1, 1)}, "week"),
        ({"cuttings": 0}, "cuttings"),
        ({"cuttings": 1_000_001}, "cuttings"),
        ({"note": "x" * 201}, "note"),
    ],
)
def test_each_impossible_value_is_named(change: dict[str, object], field: str) -> None:
    entry = SeasonLineEntry(order_number=1, week_on=MONDAY, cuttings=60)
    with pytest.raises(NotAccepted) as refused:
        accepted_line(replace(entry, **change), today=TODAY)  # type: ignore[arg-type]
    assert [problem.field for problem in refused.value.problems] == [field]
