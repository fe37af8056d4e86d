"""How long the cuttings of a genus and type take to root, as far as they root at all.

A new cutting's day is the median day of its group, spread by how fast its own batch is and by how
unlike cuttings of one batch are. The range says how well the group's median is known.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from app.domain.nursery_fits import GroupTimes, NurseryFit
from app.stats.new_onsets import log_day_quantiles, log_median_quantiles, set_in_share
from app.stats.share_grids import Floats

LEVELS: Final = (0.1, 0.5, 0.9)
EVERY_TYPE: Final = -1
WHOLE_NURSERY: Final = 0
_MIDDLE: Final = (0.5, 0.025, 0.975)


@dataclass(frozen=True, kw_only=True)
class RootingDay:
    """The day by which a share of those that root have: days since sticking, with its range."""

    day: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class RootingTimes:
    """The days to root of a genus and cutting type, as the numbers of a fit.

    A genus of 0 is the whole nursery, a type of -1 every type. `finished` batches with roots are
    behind it; with 0 it leans on the wider group alone.
    """

    genus: int
    cutting_type: int
    finished: int
    tenth: RootingDay
    half: RootingDay
    nine_tenths: RootingDay


@dataclass(frozen=True, kw_only=True)
class RootingCurve:
    """Of those that root, the share rooted by each day, with its range; shares are 0 to 1."""

    days: Floats
    shares: Floats
    low_shares: Floats
    high_shares: Floats


def rooting_times(fit: NurseryFit, *, genus: int, cutting_type: int) -> RootingTimes | None:
    """Return the times of exactly this group, or None where no batch of it is in the log."""
    for times in fit.times:
        if (times.genus, times.cutting_type) == (genus, cutting_type):
            return _told(fit, times)
    return None


def all_rooting_times(fit: NurseryFit) -> tuple[RootingTimes, ...]:
    """Return the times of the whole nursery, of each genus, and of each genus and type."""
    return tuple(_told(fit, times) for times in fit.times)


def rooting_curve(fit: NurseryFit, *, genus: int, cutting_type: int) -> RootingCurve:
    """Return the learned curve of the group, or of the wider one it leans on, day by day.

    It goes on until 98 % have rooted.
    """
    times = fit.group_times(genus=genus, cutting_type=cutting_type)
    spread = {"scale": fit.onset_scale, "cluster_sd": fit.onset_sds[0]}
    median, fast, slow = log_median_quantiles(times.masses, levels=_MIDDLE)
    last = np.exp(median + log_day_quantiles((0.98,), **spread)[0])
    days = np.arange(1.0, np.ceil(last) + 1.0)
    at_median, at_slow, at_fast = (
        set_in_share(np.log(days) - middle, **spread) for middle in (median, slow, fast)
    )
    return RootingCurve(days=days, shares=at_median, low_shares=at_slow, high_shares=at_fast)


def _told(fit: NurseryFit, times: GroupTimes) -> RootingTimes:
    middles = log_median_quantiles(times.masses, levels=_MIDDLE)
    offsets = log_day_quantiles(LEVELS, scale=fit.onset_scale, cluster_sd=fit.onset_sds[0])
    tenth, half, nine_tenths = (
        RootingDay(day=day, low=low, high=high)
        for day, low, high in np.exp(middles[None, :] + offsets[:, None]).tolist()
    )
    return RootingTimes(
        genus=times.genus,
        cutting_type=times.cutting_type,
        finished=times.finished,
        tenth=tenth,
        half=half,
        nine_tenths=nine_tenths,
    )
