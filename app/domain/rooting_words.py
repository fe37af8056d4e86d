"""Times to root said in words: always "about", and always with their range."""

from dataclasses import dataclass
from math import floor
from typing import Final

from app.domain.rooting_times import RootingDay, RootingTimes

EVERY_TYPE_WORDS: Final = "every type"
NOT_RECORDED: Final = "not recorded"


@dataclass(frozen=True, kw_only=True)
class RootingLine:
    """The times of a group as a line of a list: its three days and what is behind them."""

    tenth: str
    half: str
    nine_tenths: str
    behind: str


def day_range(day: RootingDay, *, unit: str = "days") -> str:
    """Return "about 27 days (25 to 30)"."""
    return f"about {_whole(day.day):,} {unit} ({_whole(day.low):,} to {_whole(day.high):,})"


def rooting_line(times: RootingTimes, *, leans_on: str) -> RootingLine:
    """Return the line of a group; `leans_on` is the wider group where it has none of its own."""
    return RootingLine(
        tenth=day_range(times.tenth),
        half=day_range(times.half),
        nine_tenths=day_range(times.nine_tenths),
        behind=behind_words(times.finished, leans_on=leans_on),
    )


def behind_words(finished: int, *, leans_on: str) -> str:
    """Return "14 finished batches", or what it leans on where there is none."""
    if not finished:
        return f"none finished yet, leans on {leans_on}"
    return "1 finished batch" if finished == 1 else f"{finished:,} finished batches"


def rooting_sentence(times: RootingTimes, *, leans_on: str) -> str:
    """Return when half of those that root have, and by how many batches."""
    behind = behind_words(times.finished, leans_on=leans_on)
    by = f"By {behind}" if times.finished else behind[0].upper() + behind[1:]
    return f"Half of the cuttings that root have after {day_range(times.half)}. {by}."


def _whole(number: float) -> int:
    return floor(number + 0.5)
