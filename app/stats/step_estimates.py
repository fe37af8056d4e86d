"""The step estimate of when something set in, from looks alone: no curve is supposed.

An item seen without it on day a and with it on day b set in within (a, b]. The estimate puts all
mass into the innermost intervals, where some record begins and the next thing that happens is that
one ends; inside such an interval nothing says where.

Sources: B. W. Turnbull (1976), J. R. Statist. Soc. B 38:290-295 (the estimate; from memory);
Y. Wang (2008), Computational Statistics and Data Analysis 52:2388-2402 (Newton steps by least
squares without negative masses; from memory). Checked against the masses printed by
M. P. Fay and P. A. Shaw (2010), J. Statistical Software 36(2), and against lifelines.
"""

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from scipy.optimize import nnls

from app.stats.histories import Histories
from app.stats.share_grids import Floats

_ROUNDS: Final = 200
# The log-likelihood then lies within this share of an item of its greatest value per item.
_CLOSE: Final = 1e-9
_NO_MASS: Final = 1e-10


@dataclass(frozen=True, kw_only=True)
class StepEstimate:
    """Masses (summing to 1) of the intervals (start, end]; an infinite end means "not by then".

    Only intervals with mass are listed, in order. Empty where there was no record.
    """

    starts: Floats = field(repr=False)
    ends: Floats = field(repr=False)
    masses: Floats = field(repr=False)
    log_likelihood: float

    def set_in_by(self, days: Floats) -> tuple[Floats, Floats]:
        """Return the least and the greatest share set in by each day that the estimate allows.

        The two differ only inside an interval with mass.
        """
        ended = self.ends[None, :] <= days[:, None]
        begun = self.starts[None, :] < days[:, None]
        infinite = np.isinf(self.ends)[None, :]
        return ended @ self.masses, (begun & ~infinite) @ self.masses


def step_estimate(starts: Floats, *, ends: Floats, counts: Floats) -> StepEstimate:
    """Return the estimate from `counts` items that set in within (start, end], in days.

    An infinite end is an item that had not set in at its start. Rows without items are left out.
    """
    some = counts > 0
    rows, place = np.unique(np.stack([starts[some], ends[some]]), axis=1, return_inverse=True)
    weights = np.bincount(place.ravel(), weights=counts[some], minlength=rows.shape[1]).astype(
        float
    )
    if not len(weights):
        nothing = np.zeros(0)
        return StepEstimate(starts=nothing, ends=nothing, masses=nothing, log_likelihood=0.0)
    left, right = _innermost(rows[0], rows[1])
    within = (rows[0][:, None] <= left[None, :]) & (rows[1][:, None] >= right[None, :])
    masses = _greatest(within.astype(float), weights)
    kept = masses > _NO_MASS
    return StepEstimate(
        starts=left[kept],
        ends=right[kept],
        masses=masses[kept],
        log_likelihood=float((weights * np.log(within @ masses)).sum()),
    )


def settled_steps(histories: Histories) -> StepEstimate:
    """Return the estimate over all items that set in, from clusters of which nothing waits.

    Clusters that are still open would show the early ones alone.
    """
    known = histories.settled[histories.cluster]
    return step_estimate(
        histories.start[known],
        ends=histories.end[known],
        counts=histories.onsets[known].astype(float),
    )


def _innermost(starts: Floats, ends: Floats) -> tuple[Floats, Floats]:
    """Return the intervals that begin at some start and end at some end with neither inside."""
    lefts, rights = np.unique(starts), np.unique(ends)
    nearest = lefts[np.searchsorted(lefts, rights, side="left") - 1]
    following = rights[np.searchsorted(rights, nearest, side="right")]
    inner = following == rights
    return nearest[inner], rights[inner]


def _greatest(within: Floats, weights: Floats) -> Floats:
    """Return the masses of greatest likelihood; `within` is (records, intervals) of 0 and 1."""
    masses = np.full(within.shape[1], 1.0 / within.shape[1])
    total = float(weights.sum())
    for _ in range(_ROUNDS):
        # A step of self-consistency never loses likelihood, also where the parabola misleads.
        masses = masses * (weights / (within @ masses) @ within) / total
        masses = _newton(masses, within, weights)
        gains = weights / (within @ masses) @ within / total
        if gains.max() <= 1.0 + _CLOSE:
            break
    return masses


def _newton(masses: Floats, within: Floats, weights: Floats) -> Floats:
    scaled = within / (within @ masses)[:, None]
    # Masses q >= 0 that sum to 1 and make scaled q - 2 smallest: the parabola's top.
    rows = np.sqrt(weights)[:, None] * (scaled - 2.0)
    found, _ = nnls(np.vstack([rows, np.ones(len(masses))]), np.append(np.zeros(len(rows)), 1.0))
    if found.sum() <= 0.0:
        return masses
    goal = found / found.sum()
    here = float((weights * np.log(within @ masses)).sum())
    step = 1.0
    while step > 1e-4:
        tried = (1.0 - step) * masses + step * goal
        reached = within @ tried
        if reached.min() > 0.0 and float((weights * np.log(reached)).sum()) >= here:
            return np.asarray(tried)
        step /= 2.0
    return masses
