"""Cuttings an hour, by cutting type and step of the work, from the hours written down on batches.

A figure is for planning work, never for ranking people: whoever asks about persons sees one at a
time.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import quantiles
from typing import Final

from app.domain.cutting_types import CuttingType

FEW_BATCHES: Final = 5
"""Below so many batches a figure says little (common practice, no source)."""

TENTHS_FROM: Final = 10
"""From so many batches the range leaves out the slowest and the fastest tenth."""

WEEK_HOURS: Final = 40


class Step(StrEnum):
    """A step of the work on a batch."""

    GATHERED = "gathering"
    MADE = "making"
    STUCK = "sticking"


@dataclass(frozen=True, kw_only=True)
class WorkDone:
    """The hours of one step of one batch, and the cuttings that went through it."""

    cutting_type: CuttingType | None
    step: Step
    cuttings: int
    hours: float

    @property
    def per_hour(self) -> float:
        """Cuttings an hour."""
        return self.cuttings / self.hours


@dataclass(frozen=True, kw_only=True)
class WorkSpeed:
    """How fast a step goes: all cuttings over all hours, and the range over the batches.

    The range is from the slowest to the fastest batch; from ten batches on the slowest and the
    fastest tenth are left out.
    """

    batches: int
    cuttings: int
    hours: float
    low: float
    high: float

    @property
    def per_hour(self) -> float:
        """Cuttings an hour over all of it."""
        return self.cuttings / self.hours

    @property
    def is_few(self) -> bool:
        """Whether it rests on few batches."""
        return self.batches < FEW_BATCHES


@dataclass(frozen=True, kw_only=True)
class SpeedLine:
    """A cutting type with its speed at each step, None where no hours are written down."""

    cutting_type: CuttingType | None
    speeds: tuple[WorkSpeed | None, ...]

    @property
    def words(self) -> str:
        """The type as shown."""
        return self.cutting_type.value if self.cutting_type else "type not recorded"


def speed_of(done: Sequence[WorkDone]) -> WorkSpeed | None:
    """Return how fast the work went, None without any."""
    if not done:
        return None
    each = sorted(work.per_hour for work in done)
    low, high = each[0], each[-1]
    if len(each) >= TENTHS_FROM:
        tenths = quantiles(each, n=10, method="inclusive")
        low, high = tenths[0], tenths[-1]
    return WorkSpeed(
        batches=len(done),
        cuttings=sum(work.cuttings for work in done),
        hours=sum(work.hours for work in done),
        low=low,
        high=high,
    )


def speed_lines(done: Iterable[WorkDone]) -> tuple[SpeedLine, ...]:
    """Return each cutting type with its steps, in the order of the types, unrecorded last."""
    by_type: dict[CuttingType | None, list[WorkDone]] = {}
    for work in done:
        by_type.setdefault(work.cutting_type, []).append(work)
    order: tuple[CuttingType | None, ...] = (*CuttingType, None)
    return tuple(
        SpeedLine(
            cutting_type=kind,
            speeds=tuple(
                speed_of([work for work in by_type[kind] if work.step is step]) for step in Step
            ),
        )
        for kind in order
        if kind in by_type
    )


def labour_words(speed: WorkSpeed | None) -> str:
    """Return what a week of sticking comes to by the log, "" where too few hours are known."""
    if speed is None or speed.is_few:
        return ""
    week = round(speed.per_hour * WEEK_HOURS, -2)
    return (
        f"By the {speed.batches:,} batches with hours, sticking goes at {speed.per_hour:,.0f} "
        f"cuttings an hour ({speed.low:,.0f} to {speed.high:,.0f}): about {week:,.0f} in "
        f"{WEEK_HOURS} hours of it."
    )
