"""Whether cuttings may be taken from a stock plant, and what to mind when they are."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from app.domain.days import day_long
from app.domain.genus_cautions import FOLLOW_THE_LABEL
from app.domain.people import Role
from app.domain.problems import Problem
from app.domain.standings import Advisory
from app.domain.treatments import time_words

ON_HOLD: Final = "on hold"
RESTING: Final = "resting"
WATCHED: Final = "watched"
DISCARDED: Final = "discarded"


@dataclass(frozen=True, kw_only=True)
class SourcePlant:
    """A stock plant as it stood when cuttings were taken from it.

    `place` is its line among the sources. `same_name` says whether it bears the batch's plant
    name, `name` is its own in one line. `cut_before_on` is when it was last cut before,
    `cut_back_on` when it was cut back; `state` leaves the rest after that aside. Nobody is to go
    among it before `reentry_at`, after a treatment of the day `treated_on` if that is known.
    """

    place: int
    code: str
    name: str
    state: str
    state_reason: str = ""
    discarded_on: date | None = None
    flowering: bool | None = None
    rest_weeks: int | None = None
    cut_before_on: date | None = None
    cut_back_on: date | None = None
    same_name: bool = True
    reentry_at: datetime | None = None
    treated_on: date | None = None

    def kept_out(self, *, taken_on: date, today: date, now: datetime) -> bool:
        """Return whether its re-entry time is not over and cuttings of this day fall into it."""
        if self.reentry_at is None or now >= self.reentry_at:
            return False
        return taken_on >= today or (self.treated_on is not None and taken_on > self.treated_on)


@dataclass(frozen=True, kw_only=True)
class Moment:
    """Now, with the nursery's day of it and its time zone."""

    now: datetime
    today: date
    zone: str


def source_problems(
    plants: Iterable[SourcePlant],
    *,
    taken_on: date,
    role: Role,
    hold_reason: str,
    moment: Moment,
) -> Iterator[Problem]:
    """Yield why cuttings may not be taken from one of the plants.

    From a plant on hold only the head propagator takes, and says why; from a discarded one
    nobody takes after the day it went. While a re-entry time runs nobody takes at all.
    """
    for plant in plants:
        at = f"sources-{plant.place}-stock_plant"
        if plant.kept_out(taken_on=taken_on, today=moment.today, now=moment.now):
            yield Problem(field=at, sentence=_kept_out(plant, zone=moment.zone))
        elif plant.state == DISCARDED and plant.discarded_on and taken_on > plant.discarded_on:
            sentence = (
                f"{plant.code} was discarded on {day_long(plant.discarded_on)}. Name another "
                "source, or correct the day."
            )
            yield Problem(field=at, sentence=sentence)
        elif plant.state == ON_HOLD and role is not Role.HEAD:
            because = f": {plant.state_reason}" if plant.state_reason else ""
            sentence = (
                f"{plant.code} is on hold{because}. Ask the head propagator, who alone can take "
                "from it, or take from another stock plant."
            )
            yield Problem(field=at, sentence=sentence)
        elif plant.state == ON_HOLD and not hold_reason.strip():
            sentence = f"{plant.code} is on hold. Say why cuttings are taken from it all the same."
            yield Problem(field="hold_reason", sentence=sentence)


def _kept_out(plant: SourcePlant, *, zone: str) -> str:
    until = time_words(plant.reentry_at, zone=zone) if plant.reentry_at else ""
    return (
        f"{plant.code} was treated: nobody is to work among it before {until}. Take no cuttings "
        "from it until then; those taken before the treatment can be logged after that time. "
        f"{FOLLOW_THE_LABEL}"
    )


def source_advisories(plants: Iterable[SourcePlant], *, taken_on: date) -> Iterator[Advisory]:
    """Yield what to mind about the plants, from the nursery's own record of them."""
    for plant in plants:
        for sentence, urgent in _minded(plant, taken_on=taken_on):
            field = f"sources-{plant.place}-stock_plant"
            yield Advisory(field=field, sentence=sentence, standing="", urgent=urgent)


def _minded(plant: SourcePlant, *, taken_on: date) -> Iterator[tuple[str, bool]]:
    because = f": {plant.state_reason}" if plant.state_reason else "."
    if not plant.same_name:
        yield f"{plant.code} is {plant.name}, the batch has another plant name.", True
    if plant.state in {RESTING, WATCHED, ON_HOLD, DISCARDED}:
        yield f"{plant.code} is {plant.state}{because}", plant.state in {ON_HOLD, DISCARDED}
    if plant.flowering:
        yield f"{plant.code} is in flower: look for shoots without buds.", False
    yield from _unrested(plant, taken_on=taken_on)


def _unrested(plant: SourcePlant, *, taken_on: date) -> Iterator[tuple[str, bool]]:
    """Yield that the weeks of rest after the last cut, or after it was cut back, are not over."""
    before = (plant.cut_before_on, plant.cut_back_on)
    last = max((day for day in before if day and day < taken_on), default=None)
    if not plant.rest_weeks or last is None:
        return
    rested_on = last + timedelta(weeks=plant.rest_weeks)
    if taken_on < rested_on:
        how = "cut" if last == plant.cut_before_on else "cut back"
        sentence = (
            f"{plant.code} was {how} on {day_long(last)} and is to rest "
            f"{plant.rest_weeks} weeks, until {day_long(rested_on)}."
        )
        yield sentence, False
