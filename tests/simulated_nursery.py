"""A nursery whose truth is known: every calibration claim is made on batches drawn here.

A batch's own strike rate is a beta draw round its group's rate; each cutting of it roots or not;
the rooters' days follow the batch's own curve, the others die or linger by a habit. Checks come
at irregular days, and what nobody had looked at by "today" is not known.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.random import Generator

from app.stats.histories import Histories
from app.stats.share_grids import Floats
from app.stats.trees import Ints


@dataclass(frozen=True, kw_only=True)
class DeathHabit:
    """How cuttings that never root go: a share of them dies, at days of this median and spread."""

    share: float
    median_days: float
    log_sd: float


EARLY_ROT: Final = DeathHabit(share=0.9, median_days=12.0, log_sd=0.5)
LATE_DEATH: Final = DeathHabit(share=0.8, median_days=45.0, log_sd=0.4)
LINGERING: Final = DeathHabit(share=0.2, median_days=30.0, log_sd=0.6)


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
    Rooting days are log-normal with `log_sd` within a batch and `batch_log_sd` between batches.
    Checks begin at a day of `first_check` and follow at gaps of `check_gap` (both inclusive);
    at `write_off_day` what is left is dumped.
    """

    correlation: float = 0.08
    median_size: float = 30.0
    size_log_sd: float = 0.8
    sizes: tuple[int, int] = (4, 300)
    log_sd: float = 0.35
    batch_log_sd: float = 0.15
    first_check: tuple[int, int] = (10, 18)
    check_gap: tuple[int, int] = (5, 12)
    write_off_day: int = 84


@dataclass(frozen=True, kw_only=True)
class SimulatedBatches:
    """The batches as the log would show them today, with the truth beside.

    `group[b]` is the batch's group, `stuck_ago[b]` its age in days, `will_root[b]` how many of
    it would root in the end.
    """

    histories: Histories
    group: Ints
    stuck_ago: Floats
    will_root: Floats = field(repr=False)


def simulate(
    groups: Sequence[Group],
    *,
    group_of: Ints,
    stuck_ago: Floats,
    rng: Generator,
    habits: Habits | None = None,
) -> SimulatedBatches:
    """Return one batch for each entry of `group_of`, stuck so many days before today."""
    chosen = habits or Habits()
    looks = _Looks()
    batches = [
        _batch(groups[g], int(ago), chosen, rng)
        for g, ago in zip(group_of, stuck_ago, strict=True)
    ]
    for place, batch in enumerate(batches):
        looks.add(place, batch)
    return SimulatedBatches(
        histories=looks.histories(batches),
        group=np.asarray(group_of),
        stuck_ago=np.asarray(stuck_ago, dtype=float),
        will_root=np.array([batch.will_root for batch in batches], dtype=float),
    )


@dataclass(frozen=True, kw_only=True)
class _Batch:
    size: int
    will_root: int
    rooting_days: Floats
    dying_days: Floats
    check_days: list[int]
    write_off_day: int


def batch_sizes(habits: Habits, *, count: int, rng: Generator) -> Ints:
    """Return numbers stuck, log-normal round the median and clipped."""
    raw = np.exp(rng.normal(np.log(habits.median_size), habits.size_log_sd, count))
    return np.clip(np.round(raw), *habits.sizes).astype(int)


def batch_rates(rates: Floats, *, correlation: float, rng: Generator) -> Floats:
    """Return each batch's own rate, a beta draw round its group's."""
    k = 1.0 / correlation - 1.0
    return rng.beta(k * rates, k * (1.0 - rates))


def _batch(group: Group, ago: int, habits: Habits, rng: Generator) -> _Batch:
    size = int(batch_sizes(habits, count=1, rng=rng)[0])
    rate = batch_rates(np.array([group.rate]), correlation=habits.correlation, rng=rng)[0]
    will_root = int(rng.binomial(size, rate))
    median = group.median_days * np.exp(rng.normal(0.0, habits.batch_log_sd))
    rooting = median * np.exp(rng.normal(0.0, habits.log_sd, will_root))
    habit = group.habit
    dying = habit.median_days * np.exp(rng.normal(0.0, habit.log_sd, size - will_root))
    dying[rng.random(size - will_root) >= habit.share] = np.inf
    return _Batch(
        size=size,
        will_root=will_root,
        rooting_days=rooting,
        dying_days=dying,
        check_days=_check_days(ago, habits, rng),
        write_off_day=habits.write_off_day,
    )


def _check_days(ago: int, habits: Habits, rng: Generator) -> list[int]:
    days = []
    day = int(rng.integers(habits.first_check[0], habits.first_check[1] + 1))
    while day < habits.write_off_day:
        days.append(day)
        day += int(rng.integers(habits.check_gap[0], habits.check_gap[1] + 1))
    days.append(habits.write_off_day)
    return [day for day in days if day <= ago]


class _Looks:
    """Gathers the looks of all batches into flat arrays."""

    def __init__(self) -> None:
        self._rows: list[tuple[int, float, float, float, float]] = []
        self._last: list[float] = []
        self._waiting: list[float] = []
        self._off: list[float] = []

    def add(self, place: int, batch: _Batch) -> None:
        before, waiting = 0.0, float(batch.size)
        for day in batch.check_days:
            rooted = float(((batch.rooting_days > before) & (batch.rooting_days <= day)).sum())
            died = float(((batch.dying_days > before) & (batch.dying_days <= day)).sum())
            self._rows.append((place, before, float(day), rooted, died))
            waiting -= rooted + died
            before = float(day)
            if waiting == 0.0:
                break
        written_off = before == batch.write_off_day
        self._last.append(before)
        self._off.append(waiting if written_off else 0.0)
        self._waiting.append(0.0 if written_off else waiting)

    def histories(self, batches: Sequence[_Batch]) -> Histories:
        rows = np.array(self._rows, dtype=float).reshape(-1, 5)
        last = np.array(self._last)
        return Histories(
            cluster=rows[:, 0].astype(int),
            start=rows[:, 1],
            end=rows[:, 2],
            onsets=rows[:, 3],
            failures=rows[:, 4],
            size=np.array([batch.size for batch in batches], dtype=float),
            waiting=np.array(self._waiting),
            waiting_age=last,
            written_off=np.array(self._off),
            written_off_age=last,
        )
