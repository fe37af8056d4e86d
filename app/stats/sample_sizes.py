"""How many clusters it takes to see a difference between two shares."""

import math
from typing import Final

from scipy.stats import norm
from scipy.stats import t as student

from app.stats.clusters import design_effect

DEFAULT_POWER: Final = 0.8
_FEWEST: Final = 2
_ROUNDS: Final = 100


def clusters_needed(
    share: float,
    *,
    other: float,
    size: float,
    correlation: float,
    level: float = 0.95,
    power: float = DEFAULT_POWER,
) -> int:
    """Return the number of clusters of `size` items on each side, two or more.

    `share` and `other` are the two shares (0 to 1, different), `correlation` that of two items of
    one cluster. k = (t_(1-alpha/2, k-1) + t_(power, k-1))^2 times the variance of a pair's
    difference over the squared difference, t being Student's quantile, found by going up from the
    normal answer.

    Source: the formula for comparing two means, G. W. Snedecor and W. G. Cochran, Statistical
    Methods (from memory), with the design effect of L. Kish (1965) for items in clusters. Checked
    against the exact power of the paired t test in statsmodels.

    Raises:
        ValueError: the shares are equal, or as for `design_effect`.
    """
    if share == other:
        raise ValueError("equal shares cannot be told apart by any number of clusters")
    ratio = pair_variance(share, other=other, size=size, correlation=correlation)
    ratio /= (share - other) ** 2
    upper = 0.5 + level / 2.0
    needed: int = max(_FEWEST, math.ceil((norm.ppf(upper) + norm.ppf(power)) ** 2 * ratio))
    for _ in range(_ROUNDS):
        reach = student.ppf(upper, needed - 1) + student.ppf(power, needed - 1)
        if reach**2 * ratio <= needed:
            break
        needed += 1
    return needed


def pair_variance(share: float, *, other: float, size: float, correlation: float) -> float:
    """Return the variance of the difference between two clusters' shares, one of each side.

    It is [p (1 - p) + q (1 - q)] (1 + (m - 1) rho) / m.

    Raises:
        ValueError: as for `design_effect`.
    """
    scatter = share * (1.0 - share) + other * (1.0 - other)
    return scatter * design_effect(size, correlation=correlation) / size
