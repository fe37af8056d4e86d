"""Whether a group's time to root is better counted in warmth than in days, and how long it is.

Warmth is degree-days of the medium above 5 °C. It is used only for a group whose batches were read
often enough, and only where it foretells a batch that was left out better than days do.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from app.domain.rooting_times import LEVELS, RootingDay
from app.stats.histories import Histories
from app.stats.new_onsets import log_day_quantiles
from app.stats.share_grids import Floats
from app.stats.thermal_clocks import BASE_C, ClockErrors, TimedCluster, compare_clocks

CARRIED_DAYS: Final = 4  # a reading speaks for its day and four more; an assumption, no source
LEAST_LOGGED: Final = 0.8
FEWEST_LOGGED: Final = 6
_Z: Final = 1.96
_CHECKS: Final = (
    "When checks are due goes by days all the same, since nobody knows how warm it will be."
)


@dataclass(frozen=True, kw_only=True)
class Reading:
    """The temperature of a batch's medium, °C, on a day since sticking."""

    age_days: int
    medium_c: float


@dataclass(frozen=True, kw_only=True)
class WarmthTimes:
    """Degree-days above the base by which shares of those that root have, with their ranges."""

    base_c: float
    usual_c: float
    tenth: RootingDay
    half: RootingDay
    nine_tenths: RootingDay

    def days_at(self, medium_c: float) -> float:
        """Return the days to the half at a steady temperature above the base."""
        return self.half.day / (medium_c - self.base_c)


@dataclass(frozen=True, kw_only=True)
class ClockChoice:
    """How time is counted for a group, and why.

    `logged` of `finished` batches with roots were read often enough. Errors are root mean square
    days of the middle day of a batch left out, None where too few were read to compare. `warmth`
    is there only where it is the better clock.
    """

    finished: int
    logged: int
    calendar_error_days: float | None = None
    warmth_error_days: float | None = None
    warmth: WarmthTimes | None = field(default=None)


def choose_clock(
    histories: Histories, *, readings: Sequence[Sequence[Reading]], scale: float
) -> ClockChoice:
    """Return the clock of a group; `readings` belong to its batches in order.

    `scale` is that of the learned curve. Only batches of which nothing waits are asked.
    """
    rooted = histories.total(histories.onsets) > 0
    places = [int(place) for place in np.flatnonzero((histories.waiting == 0) & rooted)]
    timed = [_timed(histories, place, readings[place]) for place in places]
    logged = [cluster for cluster in timed if cluster is not None]
    if len(logged) < FEWEST_LOGGED:
        return ClockChoice(finished=len(places), logged=len(logged))
    errors = compare_clocks(logged, scale=scale)
    better = errors.thermal_days < errors.calendar_days
    return ClockChoice(
        finished=len(places),
        logged=len(logged),
        calendar_error_days=errors.calendar_days,
        warmth_error_days=errors.thermal_days,
        warmth=_warmth_times(logged, errors, scale=scale) if better else None,
    )


def clock_sentences(choice: ClockChoice) -> tuple[str, ...]:
    """Return in words which clock is used, and both errors where there are any."""
    if choice.calendar_error_days is None or choice.warmth_error_days is None:
        few = (
            f"For {choice.logged:,} of {choice.finished:,} finished batches the temperature of the"
            f" medium is known on at least four days in five (a reading holds {CARRIED_DAYS} days"
            f" on). From {FEWEST_LOGGED} such batches on, days and warmth are compared."
        )
        return ("Time is counted in days.", few)
    used = f"in degree-days of the medium above {BASE_C:g} °C" if choice.warmth else "in days"
    errors = (
        f"Foretelling the middle day of a batch from the {choice.logged - 1:,} others, days are"
        f" off by about {choice.calendar_error_days:.1f} days, degree-days by about"
        f" {choice.warmth_error_days:.1f}."
    )
    return (f"Time is counted {used}.", errors, *([_CHECKS] if choice.warmth else []))


def daily_temperatures(readings: Sequence[Reading], *, days: int) -> tuple[Floats, float]:
    """Return a temperature for each day from sticking on, and the share of days it is known for.

    A reading holds for its own day and the next four, unless there is another. Days beyond that
    are taken at the mean of the known ones; without any, nothing is known (NaN).
    """
    daily = np.full(days, np.nan)
    for reading in sorted(readings, key=lambda each: each.age_days):
        daily[reading.age_days : reading.age_days + CARRIED_DAYS + 1] = reading.medium_c
    known = np.isfinite(daily)
    if known.any():
        daily[~known] = daily[known].mean()
    return daily, float(known.mean()) if days else 0.0


def _timed(histories: Histories, place: int, readings: Sequence[Reading]) -> TimedCluster | None:
    """Return a batch with its temperatures up to its last rooted ones, if read well enough."""
    mine = (histories.cluster == place) & (histories.onsets > 0)
    until = int(np.ceil(histories.end[mine].max()))
    daily, logged = daily_temperatures(readings, days=until)
    if logged < LEAST_LOGGED or not (daily > BASE_C).any():
        return None
    return TimedCluster(
        starts=histories.start[mine],
        ends=histories.end[mine],
        onsets=histories.onsets[mine],
        temperatures=daily,
    )


def _warmth_times(
    logged: Sequence[TimedCluster], errors: ClockErrors, *, scale: float
) -> WarmthTimes:
    middles = errors.log_warmths
    own_sd = float(middles.std(ddof=1))
    reach = _Z * own_sd / np.sqrt(len(middles))
    offsets = log_day_quantiles(LEVELS, scale=scale, cluster_sd=own_sd)
    centre = float(middles.mean())
    tenth, half, nine_tenths = (
        RootingDay(day=day, low=low, high=high)
        for day, low, high in np.exp(
            centre + np.array([0.0, -reach, reach])[None, :] + offsets[:, None]
        ).tolist()
    )
    return WarmthTimes(
        base_c=BASE_C,
        usual_c=float(np.mean([cluster.temperatures.mean() for cluster in logged])),
        tenth=tenth,
        half=half,
        nine_tenths=nine_tenths,
    )
