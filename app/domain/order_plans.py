"""What an order asks for: how many cuttings, stuck by when, and how sure that makes it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import ceil
from typing import Final

import numpy as np

from app.domain.cutting_types import CuttingType
from app.domain.order_rates import RateBasis
from app.domain.order_times import TimeBasis
from app.domain.orders import NotPlannable, Order, OrderEntry
from app.domain.standings import COMMON_PRACTICE
from app.stats.enough_counts import (
    MOST_TIMES,
    GoodPlaces,
    Survival,
    beta_of,
    chance_of_enough,
    expected_good,
    good_places,
    place_shares,
    smallest_beta_binomial,
    smallest_binomial,
    smallest_number,
)
from app.stats.group_posteriors import ASSUMED_CORRELATION
from app.stats.joint_shares import JointShares
from app.stats.two_points import two_points

USUAL_READY: Final = 0.95
USUAL_WEANING_DAYS: Final = 21
BATCH_CHOICES: Final = (1, 2, 3, 6, 10)
_DAYS_BESIDE: Final = (-28, -14, -7, 0, 7, 14, 21)
_CURVE_POINTS: Final = 24
_RANGE: Final = (0.05, 0.95)
_NO_CHANCE: Final = 1e-6


@dataclass(frozen=True, kw_only=True)
class AfterRooting:
    """What becomes of rooted ones: the share that is ready in the end, and how long that takes.

    Each with its standing, such as "common practice, no source".
    """

    ready_share: float = USUAL_READY
    ready_standing: str = COMMON_PRACTICE
    weaning_days: int = USUAL_WEANING_DAYS
    weaning_standing: str = COMMON_PRACTICE


@dataclass(frozen=True, kw_only=True)
class PlanBasis:
    """What a plan rests on: the share that roots, the days it takes, what comes after."""

    rates: RateBasis
    times: TimeBasis
    after: AfterRooting


@dataclass(frozen=True, kw_only=True)
class PlanSubject:
    """What is to be stuck: a plant, or any of a genus, by a method; None leaves a name open.

    With `any_month` the rate is that of the whole year, else that of the month of sticking.
    `ready_share` and `weaning_days` are None where the usual ones are to hold.
    """

    genus_id: int
    genus: str
    species: str = ""
    plant_name_id: int | None = None
    cutting_type: CuttingType | None = None
    hormone_id: int | None = None
    any_month: bool = False
    ready_share: float | None = None
    weaning_days: int | None = None

    @classmethod
    def of(cls, order: Order) -> "PlanSubject":
        """Return what an order is about."""
        entry = order.entry
        return cls(
            genus_id=order.genus_id,
            genus=order.genus,
            species=order.species,
            plant_name_id=entry.plant_name_id,
            cutting_type=entry.cutting_type,
            hormone_id=entry.hormone_id,
            ready_share=entry.ready_share,
            weaning_days=entry.weaning_days,
        )


@dataclass(frozen=True, kw_only=True)
class PlanAsked:
    """What is wanted, and how it is to be stuck; `stick_on` is None for the latest sensible day."""

    plants: int
    due_on: date
    sure_share: float
    batches: int
    per_place: int = 1
    enough_per_place: int = 1
    stick_on: date | None = None

    @classmethod
    def of(cls, entry: OrderEntry) -> "PlanAsked":
        """Return what an order's entry asks."""
        return cls(
            plants=entry.plants,
            due_on=entry.due_on,
            sure_share=entry.sure_share,
            batches=entry.batches,
            per_place=entry.per_place,
            enough_per_place=entry.enough_per_place,
        )


@dataclass(frozen=True, kw_only=True)
class NumberAndChance:
    """So many cuttings stuck, and the chance of enough plants; None where no number is enough."""

    stick: int | None
    chance: float


@dataclass(frozen=True, kw_only=True)
class StickDay:
    """Stuck on a day: days left for rooting, share rooted by then, and how many that asks for."""

    stick_on: date
    days: int
    in_time_share: float
    need: NumberAndChance


@dataclass(frozen=True, kw_only=True)
class OrderPlan:
    """The answer to an order.

    `stick` cuttings on or before `stick_on` make at least `asked.plants` with `chance`; about
    `expected` plants, nine times in ten from `low` to `high`. `latest_on` is the day by which
    cuttings stuck have nine in ten rooted in time. `in_time_share` are rooted by the day weaning
    has to begin. `naive` is the number wanted divided by the rate. With `refusal` no number is
    given, and `stick` is None.
    """

    asked: PlanAsked
    basis: PlanBasis
    latest_on: date
    stick_on: date
    days_to_root: int
    in_time_share: float
    refusal: NotPlannable | None = None
    stick: int | None = None
    chance: float = 0.0
    expected: int = 0
    low: int = 0
    high: int = 0
    naive: int | None = None
    naive_chance: float = 0.0
    by_chance_alone: NumberAndChance | None = None
    with_unsure_rate: NumberAndChance | None = None

    @property
    def is_late(self) -> bool:
        """Whether it would be stuck after the day by which nine in ten root in time."""
        return self.stick_on > self.latest_on


def plan_order(asked: PlanAsked, *, basis: PlanBasis, today: date) -> OrderPlan:
    """Return the answer for sticking on the day asked, or on the latest sensible one from today."""
    latest_on = latest_day(asked.due_on, basis=basis)
    stick_on = asked.stick_on or max(latest_on, today)
    plan = OrderPlan(
        asked=asked,
        basis=basis,
        latest_on=latest_on,
        stick_on=stick_on,
        days_to_root=days_to_root(asked.due_on, stick_on=stick_on, basis=basis),
        in_time_share=0.0,
    )
    plan = replace(plan, in_time_share=basis.times.in_time_share(plan.days_to_root))
    shares = basis.rates.shares
    if shares is None:
        return replace(plan, refusal=NotPlannable.NOTHING_KNOWN)
    if plan.in_time_share < _NO_CHANCE:
        return replace(plan, refusal=NotPlannable.TOO_LATE)
    return _counted(plan, places=_places(asked, plan.days_to_root, basis=basis), shares=shares)


def latest_day(due_on: date, *, basis: PlanBasis) -> date:
    """Return the last day on which cuttings stuck have nine in ten rooted before weaning."""
    return due_on - timedelta(days=basis.after.weaning_days + basis.times.days_until())


def days_to_root(due_on: date, *, stick_on: date, basis: PlanBasis) -> int:
    """Return the days left for rooting: from sticking to the day weaning has to begin."""
    return (due_on - stick_on).days - basis.after.weaning_days


def list_stick_days(plan: OrderPlan, *, today: date) -> tuple[StickDay, ...]:
    """Return what sticking earlier or later than the latest sensible day asks for."""
    days = {plan.latest_on + timedelta(days=beside) for beside in _DAYS_BESIDE} | {plan.stick_on}
    wanted = sorted(day for day in days if day >= today or day == plan.stick_on)
    return tuple(_stick_day(plan, stick_on) for stick_on in wanted)


def list_batch_choices(plan: OrderPlan) -> tuple[tuple[int, NumberAndChance], ...]:
    """Return for several numbers of batches how many cuttings are asked for."""
    places = _places(plan.asked, plan.days_to_root, basis=plan.basis)
    numbers = sorted({*BATCH_CHOICES, plan.asked.batches})
    return tuple((n, _need(replace(plan.asked, batches=n), places)) for n in numbers)


def list_chances(plan: OrderPlan) -> tuple[NumberAndChance, ...]:
    """Return the chance of enough against the number stuck, from few to more than are needed."""
    asked = plan.asked
    places = _places(asked, plan.days_to_root, basis=plan.basis)
    usual = (plan.naive or asked.plants) // asked.per_place
    most = ceil((plan.stick or plan.asked.per_place * 3 * usual) / asked.per_place * 1.25)
    least = max(min(asked.plants, most), usual // 2)
    numbers = np.unique(np.linspace(least, most, _CURVE_POINTS).round().astype(int))
    return tuple(_stuck(asked, places, int(number)) for number in numbers)


def chance_when_stuck(plan: OrderPlan, *, stick: int) -> float:
    """Return the chance of enough plants from so many cuttings stuck as planned."""
    if plan.basis.rates.shares is None:
        return 0.0
    places = _places(plan.asked, plan.days_to_root, basis=plan.basis)
    return _stuck(plan.asked, places, stick // plan.asked.per_place).chance


def survival_of(basis: PlanBasis, *, days: float) -> Survival:
    """Return the chance that a cutting that roots is ready in time, by states.

    Losses after rooting differ from batch to batch as much as two cuttings of one batch go
    together: their share has the mean of the basis and that correlation.
    """
    in_time, shared, own = basis.times.states(days)
    ready = basis.after.ready_share
    low, high, weight = two_points(mean=ready, variance=ASSUMED_CORRELATION * ready * (1 - ready))
    chances = np.concatenate([in_time * low, in_time * high], axis=1)
    return Survival(
        chances=chances, shared=shared, own=np.concatenate([own * (1.0 - weight), own * weight])
    )


def _counted(plan: OrderPlan, *, places: GoodPlaces, shares: JointShares) -> OrderPlan:
    asked = plan.asked
    naive = _naive(plan)
    need = _need(asked, places)
    plan = replace(
        plan,
        naive=naive.stick,
        naive_chance=_stuck(asked, places, (naive.stick or 0) // asked.per_place).chance,
        by_chance_alone=_by_chance_alone(plan, places),
        with_unsure_rate=_with_unsure_rate(plan, places, shares),
    )
    if need.stick is None:
        return replace(plan, refusal=NotPlannable.TOO_MANY, chance=need.chance)
    number = need.stick // asked.per_place
    low, high = expected_good(places, number=number, clusters=asked.batches, levels=_RANGE)
    return replace(
        plan,
        stick=need.stick,
        chance=need.chance,
        expected=round(number * places.mean),
        low=low,
        high=high,
    )


def _places(asked: PlanAsked, days: float, *, basis: PlanBasis) -> GoodPlaces:
    shares = basis.rates.shares
    if shares is None:
        raise ValueError("nothing is known of the share that roots")
    return good_places(
        shares,
        survival=survival_of(basis, days=days),
        per_place=asked.per_place,
        enough=asked.enough_per_place,
    )


def _need(asked: PlanAsked, places: GoodPlaces) -> NumberAndChance:
    number = smallest_number(
        places, wanted=asked.plants, sure=asked.sure_share, clusters=asked.batches
    )
    if number is None:
        most = _stuck(asked, places, MOST_TIMES * asked.plants)
        return replace(most, stick=None)
    return _stuck(asked, places, number)


def _stuck(asked: PlanAsked, places: GoodPlaces, number: int) -> NumberAndChance:
    """Return so many plugs or pots as cuttings, with their chance."""
    chance = chance_of_enough(places, wanted=asked.plants, number=number, clusters=asked.batches)
    return NumberAndChance(stick=number * asked.per_place, chance=chance)


def _stick_day(plan: OrderPlan, stick_on: date) -> StickDay:
    days = days_to_root(plan.asked.due_on, stick_on=stick_on, basis=plan.basis)
    share = plan.basis.times.in_time_share(days)
    need = NumberAndChance(stick=None, chance=0.0)
    if share >= _NO_CHANCE:
        need = _need(plan.asked, _places(plan.asked, days, basis=plan.basis))
    return StickDay(stick_on=stick_on, days=days, in_time_share=share, need=need)


def _rate(plan: OrderPlan) -> float:
    """Return the plain rate that a sum by hand would take: as observed, else as thought."""
    rates = plan.basis.rates
    if rates.observed_share:
        return rates.observed_share
    return rates.shares.mean if rates.shares else 0.0


def _good_share(plan: OrderPlan) -> float:
    """Return the share of plugs or pots that is good by the plain rate and losses."""
    share = np.array([_rate(plan) * plan.basis.after.ready_share])
    asked = plan.asked
    return float(place_shares(share, per_place=asked.per_place, enough=asked.enough_per_place)[0])


def _naive(plan: OrderPlan) -> NumberAndChance:
    number = ceil(plan.asked.plants / _good_share(plan) - 1e-9)
    return NumberAndChance(stick=number * plan.asked.per_place, chance=0.0)


def _by_chance_alone(plan: OrderPlan, places: GoodPlaces) -> NumberAndChance:
    asked = plan.asked
    number = smallest_binomial(wanted=asked.plants, share=_good_share(plan), sure=asked.sure_share)
    return _stuck(asked, places, number)


def _with_unsure_rate(
    plan: OrderPlan, places: GoodPlaces, shares: JointShares
) -> NumberAndChance | None:
    """Return the number if only the rate were unsure and batches did not differ."""
    asked = plan.asked
    good = place_shares(
        shares.grid.middles * plan.basis.after.ready_share,
        per_place=asked.per_place,
        enough=asked.enough_per_place,
    )
    mean = float(shares.share_masses @ good)
    a, b = beta_of(mean=mean, variance=float(shares.share_masses @ good**2) - mean**2)
    number = smallest_beta_binomial(wanted=asked.plants, a=a, b=b, sure=asked.sure_share)
    return None if number is None else _stuck(asked, places, number)


def iterate_steps(plan: OrderPlan) -> Iterator[tuple[str, NumberAndChance]]:
    """Yield what each further thing taken into account would have stuck, with its true chance."""
    if plan.naive is not None:
        naive = NumberAndChance(stick=plan.naive, chance=plan.naive_chance)
        yield "The naive sum: number wanted divided by the rate and the losses", naive
    if plan.by_chance_alone:
        yield "With the luck of single cuttings", plan.by_chance_alone
    if plan.with_unsure_rate:
        words = "And with how well the rate is known, leaning on the wider group"
        yield words, plan.with_unsure_rate
    if plan.stick is not None:
        planned = NumberAndChance(stick=plan.stick, chance=plan.chance)
        yield "And with batches that differ and days that run out: this plan", planned
