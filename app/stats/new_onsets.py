"""When something of a new cluster sets in: the curve, and the clusters' own speeds spread over.

ln t = theta + tau z + s l, with theta the group's log median, z standard normal (the cluster's own
speed) and l standard logistic (the item within its cluster); the sum of the last two is their
convolution.
"""

from typing import Final

import numpy as np
from scipy.special import expit, logit

from app.stats.onset_trees import LOG_MEDIANS
from app.stats.share_grids import Floats

# Even steps: Gauss and Hermite's few would show as steps where clusters differ most.
_STEPS: Final = np.linspace(-8.0, 8.0, 401)
_HALVINGS: Final = 60


def set_in_share(log_days: Floats, *, scale: float, cluster_sd: float) -> Floats:
    """Return P(tau z + s l <= x), 0 to 1, for log days x from the group's log median."""
    weights = np.exp(-0.5 * _STEPS**2)
    apart = (log_days[..., None] - cluster_sd * _STEPS) / scale
    return np.asarray(expit(apart) @ (weights / weights.sum()))


def log_day_quantiles(levels: tuple[float, ...], *, scale: float, cluster_sd: float) -> Floats:
    """Return the quantiles of tau z + s l: log days from the group's log median, for each level.

    Levels lie strictly between 0 and 1. Found by halving: the quantile lies within the sum of
    those of the two parts at levels farther out.
    """
    wanted = np.array(levels)
    reach = 8.0 * cluster_sd + scale * (np.abs(logit(wanted)) + 8.0)
    low, high = -reach, reach
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        below = set_in_share(middle, scale=scale, cluster_sd=cluster_sd) < wanted
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.asarray((low + high) / 2.0)


def log_median_quantiles(masses: Floats, *, levels: tuple[float, ...]) -> Floats:
    """Return quantiles of a log median from its masses on the grid of `onset_trees`.

    Inside a bin of the grid the mass is spread evenly.
    """
    step = LOG_MEDIANS[1] - LOG_MEDIANS[0]
    edges = np.append(LOG_MEDIANS - step / 2.0, LOG_MEDIANS[-1] + step / 2.0)
    sums = np.append(0.0, np.cumsum(masses))
    return np.asarray(np.interp(levels, sums / sums[-1], edges))
