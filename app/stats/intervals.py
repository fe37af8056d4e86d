"""Intervals of one proportion, in closed form. Sizes may be real numbers (effective sizes)."""

from dataclasses import dataclass
from math import isfinite, sqrt
from statistics import NormalDist
from typing import Final

DEFAULT_LEVEL: Final = 0.95


@dataclass(frozen=True, kw_only=True)
class Interval:
    """Both limits of a proportion, each 0 to 1, `low` never above `high`."""

    low: float
    high: float


def two_sided_z(level: float = DEFAULT_LEVEL) -> float:
    """Return the standard normal quantile that leaves (1 - level) / 2 above it.

    `level` lies strictly between 0 and 1; 0.95 gives 1.959964.

    Raises:
        ValueError: the level is not strictly between 0 and 1.
    """
    if not 0.0 < level < 1.0:
        raise ValueError(f"a level lies between 0 and 1, not at {level}")
    return NormalDist().inv_cdf(0.5 + level / 2.0)


def wilson_interval(
    successes: float, *, size: float, level: float = DEFAULT_LEVEL
) -> Interval | None:
    """Return Wilson's score interval for `successes` of `size`, or None where size is 0.

    Both may be any real numbers with 0 <= successes <= size. With z = two_sided_z(level) the
    limits are (k + z^2/2 -+ z sqrt(k (n - k)/n + z^2/4)) / (n + z^2); at k = 0 exactly 0 and
    z^2/(n + z^2), at k = n exactly n/(n + z^2) and 1.

    Source: E. B. Wilson (1927), J. Amer. Statist. Assoc. 22:209-212; method 3 of
    R. G. Newcombe (1998), Statistics in Medicine 17:857-872.

    Raises:
        ValueError: the counts are negative, not finite, or more successes than size.
    """
    if not (isfinite(size) and 0.0 <= successes <= size):
        raise ValueError(f"{successes} of {size} is no proportion")
    z = two_sided_z(level)
    if size == 0.0:
        return None
    squared = z * z
    middle = successes + squared / 2.0
    reach = z * sqrt(successes * (size - successes) / size + squared / 4.0)
    return Interval(
        # The algebra gives 0 and 1 exactly here; rounding must not give 1e-17 instead.
        low=0.0 if successes == 0.0 else max(0.0, (middle - reach) / (size + squared)),
        high=1.0 if successes == size else min(1.0, (middle + reach) / (size + squared)),
    )
