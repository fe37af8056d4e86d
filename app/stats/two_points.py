"""A share that is one of two values: the smallest distribution with a given mean and variance."""

from typing import Final

_NEGLIGIBLE: Final = 1e-12


def two_points(*, mean: float, variance: float) -> tuple[float, float, float]:
    """Return (low, high, mass of high) with this mean and variance, both values within 0 to 1.

    The mean lies in 0 to 1 and the variance is at most mean (1 - mean). As symmetric as the
    limits allow.
    """
    if variance <= _NEGLIGIBLE or not 0.0 < mean < 1.0:
        return mean, mean, 0.5
    sd = variance**0.5
    high = min(1.0, mean + sd)
    low = mean - variance / (high - mean)
    if low < 0.0:
        low, high = 0.0, mean + variance / mean
    return low, high, (mean - low) / (high - low)
