"""Holds: a stock plant or batch is suspect, and with it whatever may have caught the same.

A hold names what is suspected, finds what the log says may be touched by it, and holds what of
that is still here. It is lifted with a reason, all of it or one by one.
"""

from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Final

from app.domain.days import day_long
from app.domain.lines import Member
from app.domain.problems import NotAccepted, Problem

LONGEST_SUSPECTED: Final = 200

AUTHORITY: Final = (
    "If it may be a pest or disease that has to be reported, tell your plant-health authority now "
    "and move nothing: it decides what is to be done. A hold in this log is no more than a mark."
)
RECORDED_ONLY: Final = (
    "This finds what is written down. What nobody recorded (tools shared, splashes, people walking "
    "through) is not in it."
)


class HoldWay(StrEnum):
    """How something came to be touched by a suspicion."""

    ITSELF = "itself"
    TAKEN_FROM_IT = "taken from it"
    CAME_FROM = "where it came from"
    SAME_SOURCE = "taken from the same stock plants"
    SAME_MIX_LOT = "same mix lot"
    SAME_BENCH = "on the same bench at the time"
    SAME_HANDS = "cut or stuck the same day by the same people"


WAY_HINTS: Final = {
    HoldWay.ITSELF: "The suspect one.",
    HoldWay.TAKEN_FROM_IT: "Every batch cut from it, and all that came from those.",
    HoldWay.CAME_FROM: "The stock plants and batches it goes back to.",
    HoldWay.SAME_SOURCE: "What else was taken from those.",
    HoldWay.SAME_MIX_LOT: "Batches that stand in the same making-up of the mix.",
    HoldWay.SAME_BENCH: "What stood there while it did.",
    HoldWay.SAME_HANDS: "As near as the log comes to tools of the day.",
}
ALWAYS: Final = (HoldWay.ITSELF, HoldWay.TAKEN_FROM_IT)


@dataclass(frozen=True, kw_only=True)
class Touched:
    """Something a suspicion may have reached, by the nearest way in the order of `HoldWay`."""

    member: Member
    way: HoldWay


@dataclass(frozen=True, kw_only=True)
class HoldEntry:
    """A hold as it is placed: the suspect, what is suspected, since when, and how far it goes."""

    suspect: Member
    suspected: str
    since_on: date | None = None
    ways: tuple[HoldWay, ...] = ALWAYS


def accepted_hold(entry: HoldEntry, *, today: date) -> HoldEntry:
    """Return the entry with its words tidied and the suspect itself always among what is held.

    Raises:
        NotAccepted: nothing is suspected, or since a day to come.
    """
    words = " ".join(entry.suspected.split())
    problems: list[Problem] = []
    if not words:
        sentence = "Say what is suspected, such as: brown stems, spreading."
        problems.append(Problem(field="suspected", sentence=sentence))
    if len(words) > LONGEST_SUSPECTED:
        sentence = f"Shorten this to at most {LONGEST_SUSPECTED} characters."
        problems.append(Problem(field="suspected", sentence=sentence))
    if entry.since_on is not None and entry.since_on > today:
        sentence = "This day is still to come: give one up to today, or none."
        problems.append(Problem(field="since_on", sentence=sentence))
    if problems:
        raise NotAccepted(tuple(problems))
    chosen = {HoldWay.ITSELF, *entry.ways}
    return replace(entry, suspected=words, ways=tuple(way for way in HoldWay if way in chosen))


def held_words(code: str, *, suspected: str) -> str:
    """Return why something is on hold, as its page and the forms say it."""
    return f"{code}: {suspected}"


def held_refusal(code: str, *, because: str, doing: str) -> str:
    """Return the sentence that refuses something with what is on hold."""
    return f"{code} is on hold ({because}). Have the hold lifted before you {doing}."


def placed_words(placed_on: date, *, by: str) -> str:
    """Return when a hold was placed and by whom, in words."""
    return f"Placed on {day_long(placed_on)}{f' by {by}' if by else ''}."
