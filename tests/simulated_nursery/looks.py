"""How simulated batches are counted: on which days, and what a count then shows."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator

from app.stats.histories import Histories
from app.stats.share_grids import Floats


@dataclass(frozen=True, kw_only=True)
class CheckHabit:
    """Counts begin at a day of `first` and follow at gaps of `gap` (both inclusive).

    A planned count is left out with the chance `skipped_share`. With `on_sight` above 0 a count
    is made only if at least this share of the cuttings stuck has rooted since the last one, as
    by somebody who counts when roots are seen from outside.
    """

    first: tuple[int, int] = (10, 18)
    gap: tuple[int, int] = (5, 12)
    skipped_share: float = 0.0
    on_sight: float = 0.0


def check_days(
    habit: CheckHabit, *, until: int, rooting_days: Floats, size: int, rng: Generator
) -> list[int]:
    """Return the days before `until` on which the batch is counted, in order."""
    days: list[int] = []
    day = int(rng.integers(habit.first[0], habit.first[1] + 1))
    while day < until:
        before = days[-1] if days else 0
        new = ((rooting_days > before) & (rooting_days <= day)).sum() / size
        if rng.random() >= habit.skipped_share and new >= habit.on_sight:
            days.append(day)
        day += int(rng.integers(habit.gap[0], habit.gap[1] + 1))
    return days


@dataclass(frozen=True, kw_only=True)
class Counted:
    """One batch as counted so far; rows are (from, to, newly rooted, newly dead)."""

    rows: tuple[tuple[float, float, float, float], ...]
    size: float
    waiting: float
    last: float
    written_off: float


def counted(days: Sequence[int], *, size: int, rooting_days: Floats, dying_days: Floats) -> Counted:
    """Return what counts on these days show; nothing is counted once nothing waits."""
    rows = []
    before, waiting = 0.0, float(size)
    for day in days:
        if waiting == 0.0:
            break
        rooted = float(((rooting_days > before) & (rooting_days <= day)).sum())
        died = float(((dying_days > before) & (dying_days <= day)).sum())
        rows.append((before, float(day), rooted, died))
        waiting -= rooted + died
        before = float(day)
    return Counted(
        rows=tuple(rows), size=float(size), waiting=waiting, last=before, written_off=0.0
    )


def given_up(batch: Counted) -> Counted:
    """Return the batch with what still waited dumped as failed at its last count."""
    return replace(batch, waiting=0.0, written_off=batch.waiting)


class Looks:
    """Gathers the counts of all batches into flat arrays."""

    def __init__(self) -> None:
        self._batches: list[Counted] = []

    def add(self, batch: Counted) -> None:
        """Take one more batch, the next in number."""
        self._batches.append(batch)

    def histories(self) -> Histories:
        """Return all batches taken, in order."""
        rows = [(place, *row) for place, one in enumerate(self._batches) for row in one.rows]
        flat = np.array(rows, dtype=float).reshape(-1, 5)
        last = np.array([one.last for one in self._batches])
        return Histories(
            cluster=flat[:, 0].astype(int),
            start=flat[:, 1],
            end=flat[:, 2],
            onsets=flat[:, 3],
            failures=flat[:, 4],
            size=np.array([one.size for one in self._batches]),
            waiting=np.array([one.waiting for one in self._batches]),
            waiting_age=last,
            written_off=np.array([one.written_off for one in self._batches]),
            written_off_age=last,
        )
