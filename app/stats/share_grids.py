"""A grid of shares from 0 to 1 and how one share scatters round another on it.

Bins are even on the arcsine scale, so that they are narrow where a share is near 0 or 1.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc

Floats: TypeAlias = NDArray[np.float64]
Bools: TypeAlias = NDArray[np.bool_]
DEFAULT_BINS: Final = 120
LARGEST_CONCENTRATION: Final = 1e4


@dataclass(frozen=True, kw_only=True)
class ShareGrid:
    """`bins` bins of the unit interval with edges sin^2(pi j / (2 bins))."""

    bins: int = DEFAULT_BINS

    @cached_property
    def edges(self) -> Floats:
        """The bins + 1 edges, from 0 to 1."""
        return np.asarray(np.sin(np.linspace(0.0, np.pi / 2.0, self.bins + 1)) ** 2)

    @cached_property
    def middles(self) -> Floats:
        """The middle of each bin on the arcsine scale, strictly between 0 and 1."""
        return np.asarray(np.sin((np.arange(self.bins) + 0.5) * np.pi / (2.0 * self.bins)) ** 2)

    @cached_property
    def log_widths(self) -> Floats:
        """Logarithms of the bins' widths: the uniform distribution on the grid."""
        return np.log(np.diff(self.edges))

    def quantiles(self, masses: Floats, levels: tuple[float, ...]) -> Floats:
        """Return quantiles of rows of bin masses, shape (rows, levels), by the bins' edges.

        Each row of `masses` sums to 1. Inside a bin the mass is spread evenly.
        """
        sums = np.concatenate([np.zeros((len(masses), 1)), np.cumsum(masses, axis=1)], axis=1)
        found = [np.interp(levels, row, self.edges) for row in sums / sums[:, -1:]]
        return np.array(found, dtype=np.float64).reshape(len(masses), len(levels))


@lru_cache(maxsize=256)
def beta_kernel(grid: ShareGrid, *, concentration: float) -> Floats:
    """Return K with K[i, j] = mass in bin j of Beta(k x_i, k (1 - x_i)); rows sum to 1.

    `concentration` k > 0 is alpha + beta of the scatter round the middle x_i; it is held at
    10,000, beyond which two shares are practically the same. Masses above the median are
    differences of the upper tail: differences of the CDF lose everything there.
    """
    k = min(concentration, LARGEST_CONCENTRATION)
    a = (k * grid.middles)[:, None]
    b = (k * (1.0 - grid.middles))[:, None]
    below = betainc(a, b, grid.edges[None, :])
    # I_1-e(b, a): the bins are the same from both ends, so this is I_e(a, b) turned round.
    above = below[::-1, ::-1]
    kernel = np.where(below[:, 1:] < 0.5, np.diff(below, axis=1), -np.diff(above, axis=1))
    kernel = np.maximum(kernel, 1e-300)
    return np.asarray(kernel / kernel.sum(axis=1, keepdims=True))
