"""When something sets in that is only seen at looks: the log-logistic curve and its intervals.

F(t) = 1 / (1 + (t / e^theta)^(-1/s)) with log median theta and scale s; nothing has set in at
t = 0. An item seen without it on day a and with it on day b set in within (a, b].

Source: the log-logistic time-to-event curve, as fitted to counts between looks by C. Ritz,
C. B. Pipper and J. C. Streibig (2013), European Journal of Agronomy 45:1-6.
"""

from typing import Final

import numpy as np

from app.stats.share_grids import Floats

SMALLEST_LOG: Final = -69.0  # log(1e-30): below this an interval's mass is only rounding


def log_not_yet(days: Floats, *, log_medians: Floats, scale: float) -> Floats:
    """Return log(1 - F) for each day and log median, shape (days, medians); 0 at day 0."""
    with np.errstate(divide="ignore"):
        reached = (np.log(days)[:, None] - log_medians[None, :]) / scale
    return np.asarray(-np.logaddexp(0.0, reached))


def log_set_in(days: Floats, *, log_medians: Floats, scale: float) -> Floats:
    """Return log F for each day and log median, shape (days, medians); -inf at day 0."""
    with np.errstate(divide="ignore"):
        reached = (np.log(days)[:, None] - log_medians[None, :]) / scale
    return np.asarray(-np.logaddexp(0.0, -reached))


def log_within(starts: Floats, *, ends: Floats, log_medians: Floats, scale: float) -> Floats:
    """Return log(F(end) - F(start)) for each interval and log median, floored at 1e-30.

    Below the median the difference is taken of F, above it of 1 - F, where each is exact.
    """
    upper, lower = (
        log_set_in(days, log_medians=log_medians, scale=scale) for days in (ends, starts)
    )
    over, under = (
        log_not_yet(days, log_medians=log_medians, scale=scale) for days in (starts, ends)
    )
    early = upper < np.log(0.5)
    high, low = np.where(early, upper, over), np.where(early, lower, under)
    gap = np.minimum(low - high, -1e-300)
    return np.asarray(np.maximum(high + np.log(-np.expm1(gap)), SMALLEST_LOG))
