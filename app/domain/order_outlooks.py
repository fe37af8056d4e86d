"""How an order stands: what is stuck, rooted and potted up for it, and whether it is enough.

The batches of an order share what is thought of their group's share; in each state of that they
stand apart. What waits roots at its own odds until weaning has to begin, and of the rooted some
are lost, as in the plan.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from math import ceil
from typing import Final

import numpy as np

from app.domain.cutting_types import is_cutting
from app.domain.fit_records import BatchToForecast, type_of_code
from app.domain.nursery_fits import GRID, NurseryFit
from app.domain.order_notices import Mend, OrderOutlook
from app.domain.order_plans import OrderPlan, days_to_root, survival_of
from app.domain.orders import NotPlannable
from app.domain.outcomes import CheckCounts, Standing
from app.domain.outlooks import known_of_batch
from app.stats.enough_counts import MOST_TIMES, least_number, place_shares
from app.stats.group_posteriors import ASSUMED_CORRELATION
from app.stats.joint_shares import JointShares
from app.stats.next_looks import Known, rest_masses
from app.stats.share_grids import Floats, beta_kernel
from app.stats.summed_counts import CountInStates, chance_of_sum, summed
from app.stats.two_points import two_points

UNLIKELY: Final = 0.5
DAYS_BEFORE_LATEST: Final = 7
_STATES: Final = 9
_RANGE: Final = (0.05, 0.95)
_NEGLIGIBLE: Final = 1e-6


@dataclass(frozen=True, kw_only=True)
class OrderedBatch:
    """A batch that counts to an order, with its counts; `potted` were potted up so far."""

    batch: BatchToForecast
    checks: Sequence[CheckCounts] = field(repr=False)
    standing: Standing
    potted: int = 0


def order_outlook(
    fit: NurseryFit | None, *, plan: OrderPlan, batches: Sequence[OrderedBatch], today: date
) -> OrderOutlook:
    """Return how an order stands; `plan` is the answer to the whole of it from today on.

    It is unlikely where it will rather fail than not, and either all its batches are stuck or
    the latest day to stick is less than a week away.
    """
    standings = [one.standing for one in batches]
    outlook = OrderOutlook(
        batches=len(batches),
        stuck=sum(standing.stuck for standing in standings),
        rooted=sum(standing.rooted for standing in standings),
        unrooted=sum(standing.unrooted for standing in standings),
        potted=sum(one.potted for one in batches),
    )
    shares = plan.basis.rates.shares
    if fit is None or not fit.may_forecast or shares is None:
        return outlook
    states = _States.of(shares)
    total = summed([_ready(fit, plan, one, states) for one in batches], states=len(states.middles))
    wanted, masses = plan.asked.plants, states.masses
    chance = chance_of_sum(total, masses=masses, wanted=wanted)
    low, high = (_quantile(total, masses, level) for level in _RANGE)
    outlook = replace(
        outlook, chance=chance, expected=round(float(masses @ total.means)), low=low, high=high
    )
    if chance >= plan.asked.sure_share:
        return outlook
    all_stuck = len(batches) >= plan.asked.batches
    soon = today + timedelta(days=DAYS_BEFORE_LATEST) >= plan.latest_on
    return replace(
        outlook,
        mend=_mend(plan, total, states, begun=len(batches), today=today),
        unlikely=chance < UNLIKELY and (all_stuck or soon),
    )


@dataclass(frozen=True, kw_only=True)
class _States:
    """Shares of the group of equal mass, and how a batch's own share scatters round each."""

    middles: Floats
    masses: Floats
    kernel: Floats
    correlation: float

    @classmethod
    def of(cls, shares: JointShares) -> "_States":
        levels = tuple((place + 0.5) / _STATES for place in range(_STATES))
        middles = np.array(shares.quantiles(levels))
        correlation = float(shares.masses.sum(axis=1) @ shares.correlations)
        kernel = beta_kernel(GRID, concentration=1.0 / correlation - 1.0)
        rows = [int(np.abs(GRID.middles - middle).argmin()) for middle in middles]
        return cls(
            middles=middles,
            masses=np.full(_STATES, 1.0 / _STATES),
            kernel=kernel[rows],
            correlation=correlation,
        )


def _ready(
    fit: NurseryFit, plan: OrderPlan, ordered: OrderedBatch, states: _States
) -> CountInStates:
    """Return how many good plugs or pots a batch will give in time, in each state."""
    standing = ordered.standing
    more = np.zeros(1) + standing.rooted
    masses = np.ones((len(states.middles), 1))
    # Of divisions and grafts nothing is expected by how cuttings strike: what lives counts.
    if standing.unrooted and is_cutting(type_of_code(ordered.batch.cutting_type)):
        days = days_to_root(plan.asked.due_on, stick_on=ordered.batch.stuck_on, basis=plan.basis)
        known = known_of_batch(fit, batch=ordered.batch, checks=ordered.checks, standing=standing)
        masses = np.stack(
            [
                rest_masses(_in_state(known, standing, row), until=float(days))
                for row in states.kernel
            ]
        )
        more = standing.rooted + np.arange(standing.unrooted + 1.0)
    return _good(plan, rooted=more, masses=masses, stuck=standing.stuck)


def _in_state(known: Known, standing: Standing, prior: Floats) -> Known:
    """Return what is known of a batch if its own share scatters as in this state."""
    x = GRID.middles
    failed = float(standing.lost + standing.dumped)
    logs = np.log(np.maximum(prior, 1e-300))
    logs = logs + standing.rooted * np.log(x) + failed * np.log1p(-x)
    masses = np.exp(logs - logs.max())
    return replace(known, share_masses=masses / masses.sum())


def _good(plan: OrderPlan, *, rooted: Floats, masses: Floats, stuck: int) -> CountInStates:
    """Return the good plugs or pots from so many rooted of those stuck, losses counted."""
    asked, ready = plan.asked, plan.basis.after.ready_share
    low, high, weight = two_points(mean=ready, variance=ASSUMED_CORRELATION * ready * (1 - ready))
    kept = np.array([low, high])[:, None]
    if asked.per_place == 1:
        values, within = kept * rooted, kept * (1.0 - kept) * rooted
        most = float(rooted[-1])
    else:
        most = float(stuck // asked.per_place)
        share = place_shares(
            kept * rooted / stuck, per_place=asked.per_place, enough=asked.enough_per_place
        )
        values, within = most * share, most * share * (1.0 - share)
    both = np.concatenate([masses * (1.0 - weight), masses * weight], axis=1)
    return CountInStates.of(both, values=values.ravel(), within=within.ravel(), most=most)


def _quantile(total: CountInStates, masses: Floats, level: float) -> int:
    def reached(count: int) -> bool:
        return 1.0 - chance_of_sum(total, masses=masses, wanted=count + 1) >= level

    return least_number(reached, low=0, high=ceil(total.most)) or 0


def _mend(
    plan: OrderPlan, total: CountInStates, states: _States, *, begun: int, today: date
) -> Mend:
    """Return the fewest more to stick by the latest sensible day, or why none are enough."""
    asked = plan.asked
    by_on = max(plan.latest_on, today)
    days = days_to_root(asked.due_on, stick_on=by_on, basis=plan.basis)
    if plan.basis.times.in_time_share(days) < _NEGLIGIBLE:
        return Mend(stick=None, by_on=by_on, refusal=NotPlannable.TOO_LATE)
    clusters = max(asked.batches - begun, 1)
    survival = survival_of(plan.basis, days=days)
    mass = survival.shared[:, None] * survival.own[None, :]
    share = survival.chances.ravel()
    good = place_shares(
        GRID.middles[:, None] * share[None, :],
        per_place=asked.per_place,
        enough=asked.enough_per_place,
    )
    first = states.kernel @ (good @ mass.ravel())
    second = states.kernel @ (good**2 @ mass.ravel())

    def enough(number: int) -> bool:
        spread = (first - second) * number + (second - first**2) * number**2 / clusters
        fresh = CountInStates(means=first * number, variances=spread, most=float(number))
        both = summed([total, fresh], states=len(first))
        chance = chance_of_sum(both, masses=states.masses, wanted=asked.plants)
        return chance >= asked.sure_share - 1e-9

    number = least_number(enough, low=1, high=MOST_TIMES * asked.plants)
    if number is None:
        refusal = NotPlannable.TOO_LATE if plan.is_late else NotPlannable.TOO_MANY
        return Mend(stick=None, by_on=by_on, refusal=refusal)
    return Mend(stick=number * asked.per_place, by_on=by_on)
