"""The beta-binomial likelihood of clusters: successes of size round a group's share.

Two items of one cluster correlate by rho = 1 / (concentration + 1).
"""

import numpy as np
from scipy.special import gammaln

from app.stats.share_grids import Floats, ShareGrid


def concentration_of(correlation: float) -> float:
    """Return alpha + beta = 1 / rho - 1 for a correlation inside clusters, above 0 and below 1."""
    return 1.0 / correlation - 1.0


def cluster_messages(
    successes: Floats, *, sizes: Floats, concentration: float, grid: ShareGrid
) -> Floats:
    """Return log P(successes of size | share x_i), shape (clusters, bins), exact on the grid.

    The binomial coefficient, which does not depend on the share, is left out. Whole numbers in
    `successes` and `sizes`, 0 <= successes <= sizes. Rising factorials are tabulated once for
    each different count, so that many alike clusters cost little.

    Source: the beta-binomial of J. G. Skellam (1948), J. R. Statist. Soc. B 10:257-261 (from
    memory); checked against scipy.stats.betabinom.
    """
    a = concentration * grid.middles
    b = concentration * (1.0 - grid.middles)
    total = np.array([concentration])
    rooted = _rising(successes, a)
    rest = _rising(sizes - successes, b)
    return np.asarray(rooted + rest - _rising(sizes, total))


def _rising(counts: Floats, start: Floats) -> Floats:
    """Return log of the rising factorial start (start + 1) ... for each count, (counts, starts)."""
    different, place = np.unique(counts, return_inverse=True)
    table = gammaln(different[:, None] + start[None, :]) - gammaln(start)[None, :]
    return np.asarray(table[place.ravel()])
