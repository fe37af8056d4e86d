"""What an open cluster's likelihood is worth, as counts of a settled one.

A settled cluster of n items with r successes has the likelihood p^r (1 - p)^(n - r). An open one
has another shape; the settled cluster whose beta distribution has the same mean and variance
stands in for it where a method takes counts only.
"""

from dataclasses import dataclass, field

import numpy as np

from app.stats.share_grids import Floats, ShareGrid
from app.stats.trees import normalised


@dataclass(frozen=True, kw_only=True)
class SettledCounts:
    """Per cluster the size and the successes of its stand-in, 0 <= successes <= size, not whole."""

    sizes: Floats = field(repr=False)
    successes: Floats = field(repr=False)


def settled_equivalents(share_logs: Floats, *, grid: ShareGrid) -> SettledCounts:
    """Return the stand-ins for rows of log-likelihoods of the share on the grid.

    With mean m and variance v of the normalised likelihood the beta has a + b = m (1 - m) / v - 1,
    so that size = a + b - 2 and successes = m (a + b) - 1. A flat likelihood gives 0 of 0, that of
    a settled cluster its own counts.

    Source: the method of moments for the beta distribution, N. L. Johnson and S. Kotz (1970),
    Continuous Univariate Distributions 2 (from memory).
    """
    masses = normalised(share_logs + grid.log_widths)
    means = masses @ grid.middles
    variances = masses @ grid.middles**2 - means**2
    total = np.maximum(means * (1.0 - means) / np.maximum(variances, 1e-12) - 1.0, 0.0)
    sizes = np.maximum(total - 2.0, 0.0)
    successes = np.clip(means * total - 1.0, 0.0, sizes)
    return SettledCounts(sizes=sizes, successes=successes)
