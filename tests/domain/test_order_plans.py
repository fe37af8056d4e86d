"""The answer to an order: what is given where, and what is refused with which reason.

The arithmetic underneath is held against its oracles in tests/stats/test_enough_counts.py.
"""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from app.domain.order_plans import (
    AfterRooting,
    OrderPlan,
    PlanAsked,
    PlanBasis,
    chance_when_stuck,
    iterate_steps,
    list_batch_choices,
    list_chances,
    list_stick_days,
    plan_order,
    survival_of,
)
from app.domain.order_rates import (
    AskedGroup,
    PlannedBatches,
    RateBasis,
    RateRestsOn,
    rate_basis,
    season_of,
    usual_type,
)
from app.domain.order_times import CardWeeks, TimesRestOn, time_basis
from app.domain.orders import NotPlannable
from app.domain.published_rates import PublishedRate, find_published_rate
from tests.stats.ten_batches import ROOTED, STUCK

TODAY = date(2026, 11, 25)
DUE = date(2027, 8, 2)
CARD = CardWeeks(low=4, high=4, standing="common practice, no source")


def batches(*lines: tuple[int, int, int, int], **same: int) -> PlannedBatches:
    """Return finished batches as (genus, plant, rooted, stuck)."""
    genus, plant, rooted, stuck = (np.array(one) for one in zip(*lines, strict=True))
    count = len(lines)
    values = {"cutting_type": 1, "hormone": 1, "month": 3} | same
    return PlannedBatches(
        batch_ids=np.arange(1, count + 1),
        genus=genus,
        plant=plant,
        rooted=rooted.astype(float),
        failed=(stuck - rooted).astype(float),
        unknown=np.zeros(count),
        **{name: np.full(count, value) for name, value in values.items()},
    )


def none() -> PlannedBatches:
    whole, real = np.zeros(0, dtype=np.int64), np.zeros(0)
    names = ("batch_ids", "genus", "plant", "cutting_type", "hormone", "month")
    return PlannedBatches(
        **dict.fromkeys(names, whole), **dict.fromkeys(("rooted", "failed", "unknown"), real)
    )


TEN = batches(*((1, 1, rooted, stuck) for rooted, stuck in zip(ROOTED, STUCK, strict=True)))
OTHERS = batches(*((2, 9, 20 + n, 40) for n in range(6)))


def rates(known: PlannedBatches, published: PublishedRate | None = None, **of: int) -> RateBasis:
    asked = AskedGroup(**({"genus": 1, "plant": 1} | of))
    return rate_basis(known, asked=asked, fit=None, published=published)


def basis(known: PlannedBatches = TEN, **more: Any) -> PlanBasis:
    times = time_basis(None, genus=1, cutting_type=None, card=CARD)
    return PlanBasis(rates=rates(known, **more), times=times, after=AfterRooting())


def plan(known: PlannedBatches = TEN, **more: Any) -> OrderPlan:
    asked = PlanAsked(**({"plants": 500, "due_on": DUE, "sure_share": 0.9, "batches": 3} | more))
    return plan_order(asked, basis=basis(known), today=TODAY)


def test_the_latest_day_leaves_nine_in_ten_time_to_root() -> None:
    found = plan()
    days = basis().times.days_until()
    assert found.latest_on == found.stick_on == DUE - timedelta(days=21 + days)
    assert found.in_time_share == pytest.approx(0.9, abs=0.01)
    assert basis().times.in_time_share(days - 1) < 0.9 <= basis().times.in_time_share(days)


def test_the_plan_is_as_sure_as_asked_and_the_naive_sum_is_not() -> None:
    found = plan()
    assert found.stick is not None
    assert found.naive == 735
    assert 0.9 <= found.chance < 0.903
    assert chance_when_stuck(found, stick=found.stick - 1) < 0.9
    assert found.naive_chance < 0.45
    assert found.low <= 500 <= found.expected <= found.high
    sticks = [number.stick for _, number in iterate_steps(found)]
    assert sticks == sorted(sticks)
    assert len(sticks) == 4


def test_more_sureness_later_days_and_fewer_batches_cost_cuttings() -> None:
    sticks = [plan(sure_share=sure).stick or 0 for sure in (0.6, 0.8, 0.9, 0.95)]
    assert sticks == sorted(set(sticks))
    split = [number.stick or 0 for _, number in list_batch_choices(plan())]
    assert split == sorted(set(split), reverse=True)
    found = plan()
    days = list_stick_days(found, today=TODAY)
    needs = [day.need.stick or 10**9 for day in days]
    assert needs == sorted(needs)
    assert [day.stick_on for day in days] == sorted(day.stick_on for day in days)
    assert found.stick in needs


def test_the_chances_rise_and_pass_plan_and_naive_sum() -> None:
    found = plan()
    chances = [point.chance for point in list_chances(found)]
    numbers = [point.stick or 0 for point in list_chances(found)]
    assert chances == sorted(chances)
    assert numbers == sorted(set(numbers))
    assert numbers[0] < (found.naive or 0) < (found.stick or 0) < numbers[-1]


def test_an_order_after_its_latest_day_is_stuck_today_and_pays() -> None:
    late = plan(due_on=TODAY + timedelta(days=60))
    assert late.is_late
    assert late.stick_on == TODAY
    assert late.days_to_root == 39
    early = plan()
    assert late.stick is not None and early.stick is not None
    assert late.stick > early.stick


def test_an_order_without_any_time_left_is_refused() -> None:
    found = plan(due_on=TODAY + timedelta(days=20))
    assert found.refusal is NotPlannable.TOO_LATE
    assert found.stick is None
    assert [day.need.stick for day in list_stick_days(found, today=TODAY)] == [None]


def test_nothing_known_gives_no_number() -> None:
    found = plan(none())
    assert found.refusal is NotPlannable.NOTHING_KNOWN
    assert (found.stick, found.naive) == (None, None)
    assert chance_when_stuck(found, stick=100) == 0.0


def test_zero_rooted_is_not_plannable_and_never_a_division() -> None:
    found = plan(batches((1, 1, 0, 300), (1, 1, 0, 200), (1, 1, 0, 50)))
    assert found.refusal is NotPlannable.TOO_MANY
    assert found.naive is not None
    assert found.chance < 0.9


def test_several_cuttings_to_a_pot() -> None:
    single = plan(plants=200)
    any_of_two = plan(plants=200, per_place=2, enough_per_place=1)
    both_of_two = plan(plants=200, per_place=2, enough_per_place=2)
    assert any_of_two.stick is not None and both_of_two.stick is not None
    assert any_of_two.stick % 2 == both_of_two.stick % 2 == 0
    # Fewer pots than single plugs where one of two is enough, more where both must root.
    assert any_of_two.stick // 2 < (single.stick or 0) < both_of_two.stick // 2


def test_losses_after_rooting_have_their_mean_and_differ_between_batches() -> None:
    known = basis()
    survival = survival_of(known, days=10_000.0)
    assert survival.mean == pytest.approx(0.95, abs=1e-3)
    spread = float((survival.shared @ survival.chances**2) @ survival.own) - survival.mean**2
    assert spread == pytest.approx(0.12 * 0.95 * 0.05, rel=0.05)
    lossless = replace(known, after=AfterRooting(ready_share=1.0))
    assert survival_of(lossless, days=10_000.0).mean == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize(
    ("known", "published", "of", "rests_on"),
    [
        (TEN, False, {}, RateRestsOn.OWN),
        (TEN, False, {"plant": 2}, RateRestsOn.GENUS),
        (OTHERS, False, {}, RateRestsOn.NURSERY),
        (batches((2, 9, 20, 40)), True, {}, RateRestsOn.PUBLISHED),
        (none(), True, {}, RateRestsOn.PUBLISHED),
        (none(), False, {}, RateRestsOn.NOTHING),
    ],
)
def test_what_the_rate_rests_on(
    known: PlannedBatches, published: bool, of: dict[str, int], rests_on: RateRestsOn
) -> None:
    said = find_published_rate(genus="Lavandula", species="") if published else None
    found = rates(known, said, **of)
    assert found.rests_on is rests_on
    assert (found.shares is None) == (rests_on is RateRestsOn.NOTHING)


def test_the_less_is_its_own_the_wider_the_range() -> None:
    widths = []
    for known in (TEN, batches((1, 1, 22, 30), (1, 1, 31, 40))):
        shares = rates(known).shares
        assert shares is not None
        low, high = shares.quantiles((0.05, 0.95))
        widths.append(high - low)
    assert widths[0] < widths[1]


def test_a_plant_leans_on_its_genus() -> None:
    good = batches(*((1, 2, 36, 40) for _ in range(8)), (2, 9, 4, 40), (2, 9, 3, 40))
    poor = batches(*((1, 2, 4, 40) for _ in range(8)), (2, 9, 36, 40), (2, 9, 37, 40))
    means = []
    for known in (good, poor):
        found = rates(known)
        assert found.own == 0 and found.of_genus == 8
        assert found.shares is not None
        means.append(found.shares.mean)
    assert means[0] > 0.7
    assert means[1] < 0.3


def test_a_month_of_its_own_leans_on_the_others() -> None:
    march = batches(*((1, 1, 36, 40) for _ in range(5)))
    september = batches(*((1, 1, 8, 40) for _ in range(5)), month=9)
    both = PlannedBatches(
        **{
            name: np.concatenate([getattr(march, name), getattr(september, name)])
            for name in PlannedBatches.__dataclass_fields__
        }
    )
    means = {}
    for month in (3, 9, 6):
        shares = rates(both, month=month).shares
        assert shares is not None
        means[month] = shares.mean
    assert means[9] < means[6] < means[3]


def test_seasons_until_there_are_many_batches() -> None:
    assert [season_of(month, finished=50) for month in (1, 3, 4, 12)] == [0, 0, 1, 3]
    assert season_of(7, finished=200) == 7


def test_the_usual_type() -> None:
    mixed = batches((1, 1, 1, 2), (1, 1, 1, 2), (1, 2, 1, 2))
    mixed = replace(mixed, cutting_type=np.array([3, 3, 5]))
    assert usual_type(mixed, asked=AskedGroup(genus=1, plant=1)) == 3
    assert usual_type(mixed, asked=AskedGroup(genus=1, plant=2)) == 5
    assert usual_type(mixed, asked=AskedGroup(genus=1, plant=8)) == 3
    assert usual_type(none(), asked=AskedGroup(genus=1)) is None


def test_published_results_of_the_species_come_before_those_of_the_genus() -> None:
    # published_rooting.csv: Ilex crenata 100 and 89 %, Ilex cornuta 100 % (Doran 1941).
    crenata = find_published_rate(genus="Ilex", species="crenata")
    cornuta = find_published_rate(genus="Ilex", species="cornuta")
    genus = find_published_rate(genus="Ilex", species="verticillata")
    assert crenata is not None and cornuta is not None and genus is not None
    assert (crenata.low_share, crenata.high_share) == (0.89, 1.0)
    assert cornuta.share == 1.0
    assert genus.results > crenata.results
    assert "W. L. Doran, 1941" in cornuta.citation
    assert find_published_rate(genus="Zelkova", species="") is None


def test_without_batches_the_card_times_it_and_without_a_card_an_assumption() -> None:
    by_card = time_basis(
        None, genus=1, cutting_type=None, card=CardWeeks(low=8, high=12, standing="x")
    )
    assert by_card.rests_on is TimesRestOn.CARD
    assert by_card.days_until(0.5) == pytest.approx(69, abs=2)
    assumed = time_basis(None, genus=1, cutting_type=None, card=None)
    assert assumed.rests_on is TimesRestOn.ASSUMED
    assert assumed.days_until(0.5) == pytest.approx(32, abs=1)
    assert assumed.in_time_share(0) == 0.0
