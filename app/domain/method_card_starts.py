"""What a new batch is filled with from its method card, unmeasured."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from app.domain.cutting_types import Cut, Section
from app.domain.hormones import NO_HORMONE, Hormone
from app.domain.method_cards import CardValues

_Number = TypeVar("_Number", int, float)


@dataclass(frozen=True, kw_only=True)
class StartingValues:
    """What a new batch is filled with from a card, unmeasured; None and "" where it says nothing.

    A hormone only where the card gives exactly one strength, a length or number of leaves only
    where it gives one number. `bottom_heat_c` is the middle of the card's span, to half a degree.
    `standings` says where each comes from, by the names of this record's fields.
    """

    cut: Cut | None = None
    section: Section | None = None
    length_cm: float | None = None
    leaves_left: int | None = None
    hormone: Hormone | None = None
    mix: str = ""
    container: str = ""
    cover: str = ""
    bottom_heat_c: float | None = None
    weeks_low: float | None = None
    weeks_high: float | None = None
    standings: Mapping[str, str] = field(default_factory=dict)


def starting_values(values: CardValues, *, standings: Mapping[str, str]) -> StartingValues:
    """Return what a new batch by this card begins with."""
    fields = {
        "cut": "cut",
        "section": "section",
        "length_cm": "length",
        "leaves_left": "leaves",
        "hormone": "hormone",
        "mix": "mix",
        "container": "container",
        "cover": "cover",
        "bottom_heat_c": "bottom_heat",
        "weeks_low": "weeks",
        "weeks_high": "weeks",
    }
    return StartingValues(
        cut=values.cut,
        section=values.section,
        length_cm=_single(values.length_cm_low, values.length_cm_high),
        leaves_left=_single(values.leaves_low, values.leaves_high),
        hormone=single_hormone(values),
        mix=values.mix,
        container=values.container,
        cover=values.cover,
        bottom_heat_c=_middle(values.bottom_heat_c_low, values.bottom_heat_c_high),
        weeks_low=values.weeks_low,
        weeks_high=values.weeks_high,
        standings={name: standings[group] for name, group in fields.items() if group in standings},
    )


def single_hormone(values: CardValues) -> Hormone | None:
    """Return the hormone where the card gives exactly one strength; its form only if it is one."""
    if values.hormone_substance == NO_HORMONE:
        return Hormone(substance=NO_HORMONE)
    ppm = _single(values.hormone_ppm_low, values.hormone_ppm_high)
    if not values.hormone_substance or not ppm:
        return None
    form = "" if " or " in values.hormone_form else values.hormone_form
    return Hormone(substance=values.hormone_substance, form=form, ppm=ppm)


def _single(low: _Number | None, high: _Number | None) -> _Number | None:
    return low if low == high else None


def _middle(low: float | None, high: float | None) -> float | None:
    if low is None or high is None:
        return low if high is None else high
    return round(low + high) / 2
