"""How simulated batches grow, whether anybody looks or not.

A batch's own strike rate is a beta draw round its group's rate; each cutting of it roots or not;
the rooters' days follow the batch's own curve, the others die or linger by a habit.
"""

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.special import ndtr

from app.stats.share_grids import Floats
from app.stats.trees import Ints
from tests.simulated_nursery.looks import CheckHabit


@dataclass(frozen=True, kw_only=True)
class DeathHabit:
    """How cuttings that never root go: a share of them dies, at days of this median and spread."""

    share: float
    median_days: float
    log_sd: float


EARLY_ROT: Final = DeathHabit(share=0.9, median_days=12.0, log_sd=0.5)
LATE_DEATH: Final = DeathHabit(share=0.8, median_days=45.0, log_sd=0.4)
LINGERING: Final = DeathHabit(share=0.2, median_days=30.0, log_sd=0.6)


class RootingShape(StrEnum):
    """The shape of the days to root within a batch; each has the batch's own median."""

    LOG_NORMAL = "log-normal"
    WEIBULL = "Weibull"
    TWO_WAVES = "two waves"


@dataclass(frozen=True, kw_only=True)
class Group:
    """Batches that share a true strike rate (0 to 1), a rooting median in days and a habit."""

    rate: float
    median_days: float = 28.0
    habit: DeathHabit = EARLY_ROT


@dataclass(frozen=True, kw_only=True)
class Habits:
    """What holds for the whole simulated nursery.

    `correlation` is that of two cuttings of one batch. Sizes are log-normal and clipped.
    Rooting days have `log_sd` within a batch and `batch_log_sd` between batches. At
    `write_off_day` what is left is dumped; with the chance `cleared_share` a batch is cleared
    unrooted on some day before, because the bench is needed.
    """

    correlation: float = 0.08
    median_size: float = 30.0
    size_log_sd: float = 0.8
    sizes: tuple[int, int] = (4, 300)
    log_sd: float = 0.35
    batch_log_sd: float = 0.15
    shape: RootingShape = RootingShape.LOG_NORMAL
    checks: CheckHabit = field(default_factory=CheckHabit)
    write_off_day: int = 84
    cleared_share: float = 0.0


@dataclass(frozen=True, kw_only=True)
class GrownBatch:
    """What would be seen of a batch by looking every day: days on which its cuttings root or die.

    `rooting_days` has one entry per cutting that roots sooner or later, `dying_days` one per
    other cutting, infinite for those that linger.
    """

    size: int
    rooting_days: Floats = field(repr=False)
    dying_days: Floats = field(repr=False)

    @property
    def will_root(self) -> int:
        """How many of it root in the end."""
        return len(self.rooting_days)


def share_in_time(group: Group, *, habits: Habits) -> float:
    """Return the share (0 to 1) of the group's rooters that root before the rest is dumped.

    A strike rate is what roots before the batch is finished: the group's rate times this. For
    the log-normal shape only.
    """
    reach = np.log(habits.write_off_day / group.median_days)
    return float(ndtr(reach / np.hypot(habits.log_sd, habits.batch_log_sd)))


def batch_sizes(habits: Habits, *, count: int, rng: Generator) -> Ints:
    """Return numbers stuck, log-normal round the median and clipped."""
    raw = np.exp(rng.normal(np.log(habits.median_size), habits.size_log_sd, count))
    return np.clip(np.round(raw), *habits.sizes).astype(int)


def batch_rates(rates: Floats, *, correlation: float, rng: Generator) -> Floats:
    """Return each batch's own rate, a beta draw round its group's."""
    k = 1.0 / correlation - 1.0
    return rng.beta(k * rates, k * (1.0 - rates))


def grow(group: Group, *, habits: Habits, rng: Generator, rate: float | None = None) -> GrownBatch:
    """Return one batch; `rate` replaces the group's rate where persons or seasons shift it."""
    size = int(batch_sizes(habits, count=1, rng=rng)[0])
    mean = np.array([group.rate if rate is None else rate])
    own = batch_rates(mean, correlation=habits.correlation, rng=rng)[0]
    will_root = int(rng.binomial(size, own))
    median = group.median_days * np.exp(rng.normal(0.0, habits.batch_log_sd))
    return GrownBatch(
        size=size,
        rooting_days=median * relative_days(habits, count=will_root, rng=rng),
        dying_days=_dying_days(group.habit, count=size - will_root, rng=rng),
    )


def relative_days(habits: Habits, *, count: int, rng: Generator) -> Floats:
    """Return days to root over the batch's median, whose own median is 1 for every shape."""
    if habits.shape is RootingShape.WEIBULL:
        # the sd of the log of a Weibull is pi / (k sqrt 6)
        k = np.pi / (habits.log_sd * np.sqrt(6.0))
        return rng.weibull(k, count) / np.log(2.0) ** (1.0 / k)
    logs = rng.normal(0.0, habits.log_sd, count)
    if habits.shape is RootingShape.TWO_WAVES:
        # two narrow waves, half of the cuttings each, one and a half spreads apart
        waves = rng.choice([-0.75, 0.75], count) * habits.log_sd
        logs = waves + rng.normal(0.0, 0.4 * habits.log_sd, count)
    return np.exp(logs)


def _dying_days(habit: DeathHabit, *, count: int, rng: Generator) -> Floats:
    days = habit.median_days * np.exp(rng.normal(0.0, habit.log_sd, count))
    days[rng.random(count) >= habit.share] = np.inf
    return days
