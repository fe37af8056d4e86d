"""Whether plans for 90 % sure are met, in nurseries whose truth the planner never sees."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.special import expit, logit

from app.domain.order_plans import AfterRooting, OrderPlan, PlanAsked, PlanBasis, plan_order
from app.domain.order_rates import AskedGroup, PlannedBatches, rate_basis
from app.domain.order_times import CardWeeks, TimeBasis, time_basis
from app.stats.onset_trees import LOG_MEDIANS
from app.stats.share_grids import Floats
from tests.calibration.tables import Claim, Table, percent

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
    losses = 1.0 / _LOSSES_CORRELATION - 1.0
    ready = rng.beta(losses * 0.95, losses * 0.05, size=shape)
    good = rng.binomial(np.broadcast_to(sizes, shape), own * in_time * ready).sum(axis=1)
    return float(np.mean(good >= plan.asked.plants))


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


CLAIM: Final = Claim(
    name="plans",
    shows="Plans for 90 % sure are met in nine orders of ten, the naive sum in about half.",
    runs=2_000,
    make=_make,
)
