"""Time counted in warmth: degree-days above a base, and whether they predict better than days.

A day at T counts max(0, T - base). Two clocks are compared by leaving one cluster out: its own
median day is foretold from the mean log median of the others, on each clock.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from app.stats.onset_curves import log_within
from app.stats.share_grids import Floats

BASE_C: Final = 5.0  # 0 to 5 is safe, 8 marginal, 10 harmful; an assumption without a source
_POINTS: Final = 600
_REACH: Final = 4.0


@dataclass(frozen=True, kw_only=True)
class TimedCluster:
    """A cluster's onsets within (start, end] days, and a temperature for each day from day 0."""

    starts: Floats = field(repr=False)
    ends: Floats = field(repr=False)
    onsets: Floats = field(repr=False)
    temperatures: Floats = field(repr=False)

    def warmth_by(self, days: Floats, *, base: float = BASE_C) -> Floats:
        """Return the degree-days by each age in days; beyond the record it goes on at its mean."""
        daily = np.maximum(self.temperatures - base, 0.0)
        sums = np.append(0.0, np.cumsum(daily))
        known = float(len(daily))
        beyond = np.maximum(days - known, 0.0) * daily.mean()
        return np.asarray(np.interp(days, np.arange(len(sums)), sums) + beyond)

    def day_of(self, warmth: float, *, base: float = BASE_C) -> float:
        """Return the age in days at which so many degree-days are reached; infinite if never."""
        daily = np.maximum(self.temperatures - base, 0.0)
        sums = np.append(0.0, np.cumsum(daily))
        if warmth <= sums[-1]:
            return float(np.interp(warmth, sums, np.arange(len(sums))))
        pace = float(daily.mean())
        return len(daily) + (warmth - float(sums[-1])) / pace if pace > 0.0 else float("inf")


@dataclass(frozen=True, kw_only=True)
class ClockErrors:
    """Root mean square errors, in days, of a left-out cluster's median, by each clock.

    `log_warmths` are the clusters' own log medians in degree-days.
    """

    calendar_days: float
    thermal_days: float
    log_warmths: Floats = field(repr=False)


def compare_clocks(
    clusters: Sequence[TimedCluster], *, scale: float, base: float = BASE_C
) -> ClockErrors:
    """Return how far off each clock is, leaving out one cluster at a time.

    `scale` is that of the onset curve, on either clock.

    Raises:
        ValueError: there are fewer than two clusters, or one in which nothing set in, or that was
            never warmer than the base.
    """
    if len(clusters) < 2:
        raise ValueError("one cluster alone foretells nothing")
    days = np.array([_log_median(c.starts, c.ends, c.onsets, scale=scale) for c in clusters])
    warmths = np.array([_log_warmth(c, scale=scale, base=base) for c in clusters])
    seen = np.exp(days)
    by_calendar = np.exp(_others_mean(days))
    by_warmth = np.array(
        [
            cluster.day_of(warmth, base=base)
            for cluster, warmth in zip(clusters, np.exp(_others_mean(warmths)), strict=True)
        ]
    )
    return ClockErrors(
        calendar_days=float(np.sqrt(np.mean((by_calendar - seen) ** 2))),
        thermal_days=float(np.sqrt(np.mean((by_warmth - seen) ** 2))),
        log_warmths=warmths,
    )


def _log_warmth(cluster: TimedCluster, *, scale: float, base: float) -> float:
    ends = cluster.warmth_by(cluster.ends, base=base)
    if ends[-1] <= 0.0:
        raise ValueError("a cluster that was never warm has no time in degree-days")
    starts = cluster.warmth_by(cluster.starts, base=base)
    # What set in on days that count nothing set in just after.
    later = np.maximum(ends, starts + 1e-3 * ends[-1])
    return _log_median(starts, later, cluster.onsets, scale=scale)


def _log_median(starts: Floats, ends: Floats, onsets: Floats, *, scale: float) -> float:
    """Return the log median of greatest likelihood for onsets within (start, end]."""
    some = onsets > 0
    if not some.any():
        raise ValueError("a cluster in which nothing set in has no median")
    low, high = np.log(ends[some].min() / _REACH), np.log(ends[some].max() * _REACH)
    grid = np.linspace(low, high, _POINTS)
    within = log_within(starts[some], ends=ends[some], log_medians=grid, scale=scale)
    return float(grid[int(np.argmax(onsets[some] @ within))])


def _others_mean(values: Floats) -> Floats:
    return np.asarray((values.sum() - values) / (len(values) - 1))
