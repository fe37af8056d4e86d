"""What the pages of times to root show: rows of the list, and one group with its picture."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from app.domain.fit_records import type_code, type_of_code
from app.domain.nursery_fits import NurseryFit
from app.domain.rooting_times import (
    EVERY_TYPE,
    WHOLE_NURSERY,
    RootingCurve,
    RootingTimes,
    all_rooting_times,
    rooting_curve,
    rooting_times,
)
from app.domain.rooting_words import (
    EVERY_TYPE_WORDS,
    NOT_RECORDED,
    RootingLine,
    day_range,
    rooting_line,
    rooting_sentence,
)
from app.domain.strike_rates_words import percent, range_words
from app.domain.thermal_times import ClockChoice, choose_clock, clock_sentences
from app.stats.step_estimates import StepEstimate, settled_steps
from app.store.queries.rooting_records import RootingRecords
from app.web.rooting_pictures import RootingPicture, rooting_picture

_THE_NURSERY: Final = "the whole nursery"
_WEEK: Final = 7


@dataclass(frozen=True, kw_only=True)
class RootingRow:
    """A line of the list; `kind` is for the address: None for every type, "" for not recorded."""

    genus_id: int
    genus: str
    kind: str | None
    kind_words: str
    line: RootingLine


@dataclass(frozen=True, kw_only=True)
class CurveDay:
    """The picture as a line of numbers, in words: learned, and by the counts alone."""

    day: int
    learned: str
    counted: str


@dataclass(frozen=True, kw_only=True)
class ToldGroup:
    """One genus and type: sentence, days, picture and the same as numbers, and the clock."""

    sentence: str
    line: RootingLine
    picture: RootingPicture
    days: tuple[CurveDay, ...]
    clock: tuple[str, ...]
    warmth: tuple[tuple[str, str], ...]


def rooting_rows(
    fit: NurseryFit, *, names: Mapping[int, str]
) -> tuple[RootingLine, tuple[RootingRow, ...]]:
    """Return the whole nursery's line, and one for each genus and type, by name.

    A genus of several types has a line for all of them as well, before theirs.
    """
    found = all_rooting_times(fit)
    whole = next(times for times in found if times.genus == WHOLE_NURSERY)
    groups = [times for times in found if times.genus in names]
    kinds = [times.genus for times in groups if times.cutting_type != EVERY_TYPE]
    rows = [
        _row(times, genus=names[times.genus])
        for times in groups
        if times.cutting_type != EVERY_TYPE or kinds.count(times.genus) > 1
    ]
    ordered = sorted(rows, key=lambda row: (row.genus, row.kind is not None, row.kind_words))
    return rooting_line(whole, leans_on=_THE_NURSERY), tuple(ordered)


def _row(times: RootingTimes, *, genus: str) -> RootingRow:
    every = times.cutting_type == EVERY_TYPE
    kind = None if every else type_of_code(times.cutting_type)
    return RootingRow(
        genus_id=times.genus,
        genus=genus,
        kind=kind,
        kind_words=EVERY_TYPE_WORDS if every else kind or NOT_RECORDED,
        line=rooting_line(times, leans_on=_wider(genus, every=every)),
    )


def _wider(genus: str, *, every: bool) -> str:
    return _THE_NURSERY if every else f"other {genus} and {_THE_NURSERY}"


def told_group(
    fit: NurseryFit, records: RootingRecords, *, genus_id: int, genus: str, kind: str | None
) -> ToldGroup | None:
    """Return what is to be said of a genus and type, None where no batch of it is in the log."""
    code = EVERY_TYPE if kind is None else type_code(kind)
    times = rooting_times(fit, genus=genus_id, cutting_type=code)
    if times is None:
        return None
    leans_on = _wider(genus, every=kind is None)
    curve = rooting_curve(fit, genus=genus_id, cutting_type=code)
    steps = settled_steps(records.histories)
    choice = choose_clock(records.histories, readings=records.readings, scale=fit.onset_scale)
    return ToldGroup(
        sentence=rooting_sentence(times, leans_on=leans_on),
        line=rooting_line(times, leans_on=leans_on),
        picture=rooting_picture(curve, steps=steps),
        days=_curve_days(curve, steps),
        clock=clock_sentences(choice),
        warmth=_warmth_lines(choice),
    )


def _curve_days(curve: RootingCurve, steps: StepEstimate) -> tuple[CurveDay, ...]:
    weeks = np.arange(_WEEK, curve.days[-1] + _WEEK, _WEEK)
    least, greatest = steps.set_in_by(weeks)
    learned: Sequence[tuple[float, float, float]] = [
        tuple(float(np.interp(day, curve.days, shares)) for shares in _three(curve))  # type: ignore[misc]
        for day in weeks
    ]
    counted = bool(len(steps.masses))
    return tuple(
        CurveDay(
            day=int(day),
            learned=f"{percent(middle)} ({range_words(low, high=high)})",
            counted=range_words(float(first), high=float(last)) if counted else "no data",
        )
        for day, (low, middle, high), first, last in zip(
            weeks, learned, least, greatest, strict=True
        )
    )


def _three(curve: RootingCurve) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    return curve.low_shares, curve.shares, curve.high_shares


def _warmth_lines(choice: ClockChoice) -> tuple[tuple[str, str], ...]:
    """Return shares and degree-days, and days at usual temperatures, where warmth is the clock."""
    warmth = choice.warmth
    if warmth is None:
        return ()
    shares = (("1 in 10", warmth.tenth), ("half", warmth.half), ("9 in 10", warmth.nine_tenths))
    usual = round(warmth.usual_c)
    temperatures = [c for c in (usual - 3, usual, usual + 3) if c > warmth.base_c]
    return (
        *((f"{share} rooted", day_range(day, unit="degree-days")) for share, day in shares),
        *(
            (f"half rooted, at {c} °C", f"about {round(warmth.days_at(c))} days")
            for c in temperatures
        ),
    )
