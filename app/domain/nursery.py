"""The nursery itself: its name, its time zone, its half of the globe, its word for medium."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final
from zoneinfo import ZoneInfo

from app.domain.problems import NotAccepted, Problem

LONGEST_NAME: Final = 80
MEDIUM_WORDS: Final = ("medium", "compost", "substrate", "mix")


class Hemisphere(StrEnum):
    """Which half of the globe; the southern one turns months by six."""

    NORTH = "north"
    SOUTH = "south"


@dataclass(frozen=True, kw_only=True)
class NurseryEntry:
    """The nursery's settings as entered; `zone` is a name of IANA's list.

    `raw_powder` is whether the head makes dips from raw powder here, beside authorised products.
    """

    name: str
    zone: str
    hemisphere: Hemisphere
    medium_word: str
    raw_powder: bool = False


def accepted_nursery(entry: NurseryEntry) -> NurseryEntry:
    """Return the entry tidied.

    Raises:
        NotAccepted: the name is too long, the zone unknown, or the word not one of the list.
    """
    problems = []
    name = " ".join(entry.name.split())
    if len(name) > LONGEST_NAME:
        sentence = f"Keep the name within {LONGEST_NAME} letters."
        problems.append(Problem(field="name", sentence=sentence))
    if not _is_zone(entry.zone):
        sentence = 'Choose a time zone as in the list, such as "Europe/London".'
        problems.append(Problem(field="zone", sentence=sentence))
    if entry.medium_word not in MEDIUM_WORDS:
        problems.append(Problem(field="medium_word", sentence="Choose one of the words."))
    if problems:
        raise NotAccepted(tuple(problems))
    return NurseryEntry(
        name=name,
        zone=entry.zone,
        hemisphere=entry.hemisphere,
        medium_word=entry.medium_word,
        raw_powder=entry.raw_powder,
    )


def _is_zone(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return False
    return True
