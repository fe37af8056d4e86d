"""How items that never set in fail: some fail by themselves over time, the rest linger.

The share still there at age t is S(t) = 1 - c + c (1 - D(t)), with the failing share c and the
log-logistic D of log median delta. Estimated from settled clusters only, since a curve that is
guessed makes lingering items look like late ones.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import betainc

from app.stats.histories import Histories
from app.stats.onset_curves import log_not_yet, log_within
from app.stats.share_grids import Floats

SCALES: Final = (0.12, 0.2, 0.3, 0.45, 0.7)
SHARES: Final = np.concatenate([[0.01], np.arange(0.04, 0.98, 0.04), [0.99]])
LOG_MEDIANS: Final = np.linspace(np.log(3.0), np.log(240.0), 40)
# Starting values, assumptions without a source: the middle day of failing, and how many do.
START_MEDIAN: Final = 25.0
START_SHARE: Final = 0.5
_PRIOR_LOG_MEDIAN: Final = (np.log(START_MEDIAN), 0.8)
_PRIOR_SHARE: Final = (3.0 * START_SHARE, 3.0 * (1.0 - START_SHARE))
# A leaning curve begins at the wider one's share, as if four items had been seen.
_LEAN: Final = 4.0
_LEAN_LOG_SD: Final = 0.6
# How far single clusters stray from the common curve, in the joint likelihood.
SHARE_CONCENTRATION: Final = 3.0
LOG_MEDIAN_SD: Final = 0.4
_SHARE_EDGES: Final = np.array([0.0, 0.1, 0.3, 0.55, 0.75, 0.9, 1.0])
_MEDIAN_NODES: Final = 5


@dataclass(frozen=True, kw_only=True)
class FailureCurve:
    """Failing share c (0 to 1), log median delta (log days) and scale; the clusters behind them."""

    share: float
    log_median: float
    scale: float
    clusters: int

    def remaining(self, ages: Floats) -> Floats:
        """Return S(t), the share of items that never set in still there at each age."""
        left = np.exp(log_not_yet(ages, log_medians=np.array([self.log_median]), scale=self.scale))[
            :, 0
        ]
        return np.asarray(1.0 - self.share + self.share * left)


def fit_failure_curve(
    settled: Histories, *, correlation: float, leaning_on: FailureCurve | None = None
) -> FailureCurve:
    """Return the curve at its posterior mean under a weak prior, or leaning on a wider curve.

    Only failures and items written off speak; each cluster's are weighted by 1 / (1 + (k - 1)
    rho), k being how many they are, since items of a cluster fail together.
    """
    gone = settled.total(settled.failures) + settled.written_off
    weights = 1.0 / (1.0 + np.maximum(gone - 1.0, 0.0) * correlation)
    seen = _Seen.of(settled, weights)
    posteriors = [
        _log_prior(leaning_on, scale) + _log_likelihood(seen, scale=scale) for scale in SCALES
    ]
    marginals = [float(np.logaddexp.reduce(logs, axis=None)) for logs in posteriors]
    best = int(np.argmax(marginals))
    masses = np.exp(posteriors[best] - marginals[best])
    share = float((masses.sum(axis=1) * SHARES).sum())
    log_median = float((masses.sum(axis=0) * LOG_MEDIANS).sum())
    return FailureCurve(
        share=share, log_median=log_median, scale=SCALES[best], clusters=int((gone > 0).sum())
    )


def _log_prior(wider: FailureCurve | None, scale: float) -> Floats:
    if wider is None:
        (a, b), (centre, sd), steps = _PRIOR_SHARE, _PRIOR_LOG_MEDIAN, 0.0
    else:
        a, b = _LEAN * wider.share, _LEAN * (1.0 - wider.share)
        centre, sd = wider.log_median, _LEAN_LOG_SD
        steps = float(np.log(scale / wider.scale)) / _LEAN_LOG_SD
    over_share = (a - 1.0) * np.log(SHARES) + (b - 1.0) * np.log1p(-SHARES)
    over_median = -0.5 * ((LOG_MEDIANS - centre) / sd) ** 2
    return np.asarray(over_share[:, None] + over_median[None, :] - 0.5 * steps**2)


@dataclass(frozen=True, kw_only=True)
class _Seen:
    """Weighted failures by interval, and weighted items given up by age; each interval once."""

    starts: Floats
    ends: Floats
    failures: Floats
    ages: Floats
    given_up: Floats

    @classmethod
    def of(cls, settled: Histories, weights: Floats) -> "_Seen":
        seen, off = settled.failures > 0, settled.written_off > 0
        spans, place = np.unique(
            np.stack([settled.start[seen], settled.end[seen]]), axis=1, return_inverse=True
        )
        ages, at = np.unique(settled.written_off_age[off], return_inverse=True)
        return cls(
            starts=spans[0],
            ends=spans[1],
            failures=np.bincount(
                place.ravel(),
                weights=settled.failures[seen] * weights[settled.cluster[seen]],
                minlength=spans.shape[1],
            ).astype(np.float64),
            ages=ages,
            given_up=np.bincount(
                at, weights=settled.written_off[off] * weights[off], minlength=len(ages)
            ).astype(np.float64),
        )


def _log_likelihood(seen: _Seen, *, scale: float) -> Floats:
    within = log_within(seen.starts, ends=seen.ends, log_medians=LOG_MEDIANS, scale=scale)
    failing = seen.failures.sum() * np.log(SHARES)[:, None] + (seen.failures @ within)[None, :]
    left = np.exp(log_not_yet(seen.ages, log_medians=LOG_MEDIANS, scale=scale))
    still = np.log(1.0 - SHARES[:, None, None] * (1.0 - left[None, :, :]))
    return np.asarray(failing + np.einsum("k,skm->sm", seen.given_up, still))


@dataclass(frozen=True, kw_only=True)
class FailureNodes:
    """A small grid round a curve for one cluster's own habit; three flat arrays of one length."""

    shares: Floats
    log_medians: Floats
    log_weights: Floats
    scale: float


def failure_nodes(curve: FailureCurve) -> FailureNodes:
    """Return nodes for c ~ Beta(3 c, 3 (1 - c)) and delta ~ N(delta, 0.4^2), with their weights.

    Six bins of the failing share, each at its mean, and five points of Gauss and Hermite for the
    median. The tails must be there, however little they weigh: a large cluster that lingers is
    explained by them alone.
    """
    a = SHARE_CONCENTRATION * curve.share
    b = SHARE_CONCENTRATION * (1.0 - curve.share)
    masses = np.maximum(np.diff(betainc(a, b, _SHARE_EDGES)), 1e-300)
    means = curve.share * np.diff(betainc(a + 1.0, b, _SHARE_EDGES)) / masses
    c = np.clip(means, _SHARE_EDGES[:-1], _SHARE_EDGES[1:])
    c = np.clip(c, 1e-3, 1.0 - 1e-3)
    steps, weights = np.polynomial.hermite_e.hermegauss(_MEDIAN_NODES)
    logs = np.log(masses)[:, None] + np.log(weights / weights.sum())[None, :]
    return FailureNodes(
        shares=np.repeat(c, _MEDIAN_NODES),
        log_medians=np.tile(curve.log_median + LOG_MEDIAN_SD * steps, len(c)),
        log_weights=logs.ravel(),
        scale=curve.scale,
    )
