"""Whether plans for 90 % sure are met, in nurseries whose truth the planner never sees."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.special import expit, logit, ndtr

from app.domain.fit_records import FitRecords
from app.domain.nursery_fits import fit_nursery
from app.domain.order_plans import AfterRooting, OrderPlan, PlanAsked, PlanBasis, plan_order
from app.domain.order_rates import AskedGroup, PlannedBatches, rate_basis
from app.domain.order_times import CardWeeks, TimeBasis, time_basis
from app.stats.onset_trees import LOG_MEDIANS
from app.stats.share_grids import Floats
from tests.calibration.pages import records_of
from tests.calibration.tables import Claim, Table, percent
from tests.calibration.whole_nursery import GENERA as GENERA_OF_A_YEAR
from tests.calibration.whole_nursery import one_year
from tests.simulated_nursery import Group, Habits

SURE: Final = 0.9
GENERA: Final = 8
HISTORIES: Final = (1, 3, 10, 30)
# Plants wanted, batches, and whether they are stuck long before or on the latest sensible day.
ORDERS: Final = ((60, 1, "early"), (60, 5, "early"), (500, 3, "early"), (500, 3, "latest"))
# New drawings of the truth for each plan: what is left of chance is the nursery's.
TRIES: Final = 200
_TODAY: Final = date(2026, 1, 5)
_DUE: Final = date(2026, 12, 7)
_CARD: Final = CardWeeks(low=5, high=5, standing="for this trial")
_SPREAD: Final = 5.0
_LOSSES: Final = AfterRooting()
_LOSSES_CORRELATION: Final = 0.12
_LEARNED_WANTED: Final = 200


@dataclass(frozen=True, kw_only=True)
class Truth:
    """What is true of the genus ordered: its rate, the correlation in a batch, its log median."""

    rate: float
    correlation: float
    log_median: float


@dataclass
class Plans:
    """How many plans were made, and the share of them that was met."""

    made: int = 0
    refused: int = 0
    met: float = 0.0
    naive_met: float = 0.0

    @property
    def success(self) -> float:
        """The share of plans made that was met."""
        return self.met / self.made if self.made else float("nan")

    @property
    def naive_success(self) -> float:
        """The share of the same orders that the naive sum would have met."""
        return self.naive_met / self.made if self.made else float("nan")


def tried(
    *, history: int, wanted: int, batches: int, when: str, nurseries: int, rng: Generator
) -> Plans:
    """Return what came of one order in each of so many nurseries.

    `history` finished batches of the genus are in the log, as many of each other genus.
    """
    found = Plans()
    for _ in range(nurseries):
        known, truth = _nursery(history, rng)
        times = time_basis(None, genus=1, cutting_type=None, card=_CARD)
        truth = _with_speed(truth, times, rng)
        rates = rate_basis(known, asked=AskedGroup(genus=1, plant=1), fit=None)
        asked = PlanAsked(
            plants=wanted,
            due_on=_DUE,
            sure_share=SURE,
            batches=batches,
            stick_on=_TODAY if when == "early" else None,
        )
        basis = PlanBasis(rates=rates, times=times, after=_LOSSES)
        plan = plan_order(asked, basis=basis, today=_TODAY)
        if plan.stick is None or plan.naive is None:
            found.refused += 1
            continue
        found.made += 1
        found.met += _met(plan, plan.stick, truth, rng)
        found.naive_met += _met(plan, plan.naive, truth, rng)
    return found


def learned(*, batches: int, when: str, nurseries: int, rng: Generator) -> Plans:
    """Return what came of one order of each genus in nurseries that learned from a year's log.

    Some of the year's batches are still open; rates, days and how batches differ are learned.
    """
    found = Plans()
    habits = Habits()
    for _ in range(nurseries):
        year = one_year(batches=batches, seasonal=False, rng=rng, habits=habits)
        records = records_of(year.batches)
        fit = fit_nursery(records)
        known = _planned(records)
        for place, group in enumerate(year.groups):
            genus = place + 1
            times = time_basis(fit, genus=genus, cutting_type=0, card=None)
            rates = rate_basis(known, asked=AskedGroup(genus=genus), fit=fit)
            asked = PlanAsked(
                plants=_LEARNED_WANTED,
                due_on=_DUE,
                sure_share=SURE,
                batches=3,
                stick_on=_TODAY if when == "early" else None,
            )
            basis = PlanBasis(rates=rates, times=times, after=_LOSSES)
            plan = plan_order(asked, basis=basis, today=_TODAY)
            if plan.stick is None or plan.naive is None:
                found.refused += 1
                continue
            found.made += 1
            found.met += _grown(plan, plan.stick, group, habits, rng)
            found.naive_met += _grown(plan, plan.naive, group, habits, rng)
    return found


def _planned(records: FitRecords) -> PlannedBatches:
    histories = records.histories
    failed = histories.total(histories.failures) + histories.written_off
    return PlannedBatches(
        batch_ids=records.batch_ids,
        genus=records.genus,
        plant=records.genus,
        cutting_type=records.cutting_type,
        hormone=np.zeros(histories.count, dtype=np.int64),
        month=records.month,
        rooted=histories.total(histories.onsets),
        failed=failed,
        unknown=histories.waiting,
    )


def _grown(plan: OrderPlan, stick: int, group: Group, habits: Habits, rng: Generator) -> float:
    """Return how often so many give enough in time, by the simulation's own way of growing."""
    batches = plan.asked.batches
    sizes = np.array([stick // batches + (place < stick % batches) for place in range(batches)])
    shape = (TRIES, batches)
    k = 1.0 / habits.correlation - 1.0
    own = rng.beta(k * group.rate, k * (1.0 - group.rate), size=shape)
    middle = np.log(group.median_days) + habits.batch_log_sd * rng.standard_normal(shape)
    # What has not rooted by then is dumped, however long one would wait.
    days = min(plan.days_to_root, habits.write_off_day)
    in_time = ndtr((np.log(days) - middle) / habits.log_sd)
    good = rng.binomial(np.broadcast_to(sizes, shape), own * in_time * _ready(shape, rng))
    return float(np.mean(good.sum(axis=1) >= plan.asked.plants))


def _ready(shape: tuple[int, int], rng: Generator) -> Floats:
    """Return the share of the rooted that get through weaning, for each batch."""
    k = 1.0 / _LOSSES_CORRELATION - 1.0
    return np.asarray(rng.beta(k * 0.95, k * 0.05, size=shape))


def _nursery(history: int, rng: Generator) -> tuple[PlannedBatches, Truth]:
    """Return a log of finished batches of several genera, and what is true of the first."""
    house = rng.uniform(0.35, 0.85)
    rates = rng.beta(_SPREAD * house, _SPREAD * (1.0 - house), size=GENERA)
    rates = np.clip(rates, 0.05, 0.98)
    correlation = float(expit(logit(0.12) + 0.5 * rng.standard_normal()))
    genus = np.repeat(np.arange(1, GENERA + 1), history)
    stuck = np.clip(np.exp(rng.normal(np.log(40.0), 0.6, size=len(genus))), 6, 300).astype(int)
    rooted = _rooted(rates[genus - 1], correlation, stuck, rng)
    ones = np.ones(len(genus), dtype=np.int64)
    known = PlannedBatches(
        batch_ids=np.arange(1, len(genus) + 1),
        genus=genus,
        plant=genus,
        cutting_type=ones,
        hormone=ones,
        month=ones,
        rooted=rooted.astype(float),
        failed=(stuck - rooted).astype(float),
        unknown=np.zeros(len(genus)),
    )
    return known, Truth(rate=float(rates[0]), correlation=correlation, log_median=0.0)


def _rooted(rates: Floats, correlation: float, stuck: Floats, rng: Generator) -> Floats:
    k = 1.0 / correlation - 1.0
    return np.asarray(rng.binomial(stuck, rng.beta(k * rates, k * (1.0 - rates))))


def _with_speed(truth: Truth, times: TimeBasis, rng: Generator) -> Truth:
    """Return the truth with a median that is as far from the card's as cards are thought to be."""
    log_median = float(rng.choice(LOG_MEDIANS, p=times.masses))
    return Truth(rate=truth.rate, correlation=truth.correlation, log_median=log_median)


def _met(plan: OrderPlan, stick: int, truth: Truth, rng: Generator) -> float:
    """Return how often so many stuck as planned give enough plants in time."""
    batches = min(plan.asked.batches, stick)
    sizes = np.array([stick // batches + (place < stick % batches) for place in range(batches)])
    shape = (TRIES, batches)
    k = 1.0 / truth.correlation - 1.0
    own = rng.beta(k * truth.rate, k * (1.0 - truth.rate), size=shape)
    basis = plan.basis
    speed = truth.log_median + basis.times.batch_sd * rng.standard_normal(shape)
    in_time = expit((np.log(plan.days_to_root) - speed) / basis.times.scale)
    good = rng.binomial(np.broadcast_to(sizes, shape), own * in_time * _ready(shape, rng))
    return float(np.mean(good.sum(axis=1) >= plan.asked.plants))


def _make(runs: int, seed: int) -> Iterator[Table]:
    rng = np.random.default_rng(seed)
    rows = []
    for history in HISTORIES:
        for wanted, batches, when in ORDERS:
            found = tried(
                history=history,
                wanted=wanted,
                batches=batches,
                when=when,
                nurseries=runs,
                rng=rng,
            )
            rows.append(
                (
                    str(history),
                    str(wanted),
                    str(batches),
                    when,
                    percent(found.success, decimals=1),
                    percent(found.naive_success, decimals=1),
                    percent(found.refused / runs, decimals=1),
                )
            )
    yield Table(
        title="Orders met, in per cent.",
        columns=(
            "batches of the genus",
            "plants wanted",
            "stuck in batches",
            "stuck",
            "plans for 90 % met",
            "naive sums met",
            "not plannable",
        ),
        rows=tuple(rows),
    )
    yield _make_learned(runs, np.random.default_rng([seed, 1]))


def _make_learned(runs: int, rng: Generator) -> Table:
    nurseries = max(runs // GENERA_OF_A_YEAR, 1)
    rows = []
    for batches in (120, 400):
        for when in ("early", "latest"):
            found = learned(batches=batches, when=when, nurseries=nurseries, rng=rng)
            share = found.refused / (found.made + found.refused)
            rows.append(
                (
                    str(batches),
                    when,
                    percent(found.success, decimals=1),
                    percent(found.naive_success, decimals=1),
                    percent(share, decimals=1),
                )
            )
    return Table(
        title=f"The same after a year's log ({_LEARNED_WANTED} plants in three batches, "
        "an order for each of ten genera).",
        columns=(
            "batches in the log",
            "stuck",
            "plans for 90 % met",
            "naive sums met",
            "not plannable",
        ),
        rows=tuple(rows),
    )


CLAIM: Final = Claim(
    name="plans",
    shows="Plans for 90 % sure are met in nine orders of ten, the naive sum in about half.",
    runs=2_000,
    make=_make,
)
