"""Practical sessions: days on which taking cuttings is taught, with their steps and needs."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

from app.domain.cutting_types import CuttingType
from app.domain.hormones import Hormone
from app.domain.problems import NotAccepted, Problem

LONGEST_LINE: Final = 500
LONGEST_NOTES: Final = 4_000
MOST_LINES: Final = 60
MOST_HEADS: Final = 200
MOST_PER_HEAD: Final = 5_000
MOST_PER_PLACE: Final = 20
FARTHEST: Final = timedelta(days=3 * 366)

_TOOL: Final = re.compile(
    r"(?:(?P<number>\d+)\s+(?:x\s+)?)?(?P<what>(?=.*[^\W\d])\S.*?)(?P<all>\s+for all)?"
)


class PracticalState(StrEnum):
    """Where a practical session stands."""

    AHEAD = "ahead"
    TODAY = "today"
    HELD = "held"
    CANCELLED = "cancelled"


@dataclass(frozen=True, kw_only=True)
class Tool:
    """Something to have ready: so many for each head, or so many for all together."""

    what: str
    number: int = 1
    for_all: bool = False

    def needed(self, heads: int) -> int:
        """Return how many are wanted for so many heads."""
        return self.number if self.for_all else self.number * heads


@dataclass(frozen=True, kw_only=True)
class PracticalEntry:
    """A practical session as it is entered; None and "" mean not said.

    `people_ids` are those who take part. `heads` is for how many it is prepared, those named where
    that is None. `per_head` are cuttings for each, `per_place` of them in each plug or pot.
    `steps`, `tools` and `cautions` are lines of text in their order; cautions are those beside
    what is recorded of the genus and the work.
    """

    held_on: date
    topic: str
    taught_by_id: int | None = None
    people_ids: tuple[int, ...] = ()
    heads: int | None = None
    plant_name_id: int | None = None
    cutting_type: CuttingType | None = None
    per_head: int | None = None
    per_place: int | None = None
    hormone: Hormone | None = None
    container_id: int | None = None
    mix_id: int | None = None
    bench_id: int | None = None
    method_card_version_id: int | None = None
    steps: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    notes: str = ""

    @property
    def prepared_for(self) -> int:
        """For how many it is prepared."""
        return len(self.people_ids) if self.heads is None else self.heads


def accepted_practical(entry: PracticalEntry, *, today: date) -> PracticalEntry:
    """Return the entry with its texts tidied and nobody named twice.

    Raises:
        NotAccepted: no topic, a day too far off, a number out of range, or a line too long.
    """
    tidy = replace(
        entry,
        topic=" ".join(entry.topic.split()),
        people_ids=tuple(dict.fromkeys(entry.people_ids)),
        steps=_lines(entry.steps),
        tools=_lines(entry.tools),
        cautions=_lines(entry.cautions),
        notes=entry.notes.strip(),
    )
    if problems := (*_day_problems(tidy, today=today), *_texts(tidy), *_numbers(tidy)):
        raise NotAccepted(problems)
    for line in tidy.tools:
        parse_tool(line)
    return tidy


def state_of(held_on: date, *, cancelled: bool, today: date) -> PracticalState:
    """Return where a practical session of a day stands."""
    if cancelled:
        return PracticalState.CANCELLED
    if held_on == today:
        return PracticalState.TODAY
    return PracticalState.AHEAD if held_on > today else PracticalState.HELD


def parse_tool(line: str) -> Tool:
    """Return the tool of a line: "knife", "2 dibbers" for each head, "1 sprayer for all".

    Raises:
        NotAccepted: at "tools", it has no name, or a number that cannot be.
    """
    typed = _TOOL.fullmatch(" ".join(line.split()))
    number = int(typed["number"] or 1) if typed else 0
    if typed is None or not 1 <= number <= MOST_PER_HEAD:
        sentence = f'"{line}" is no tool: write "knife", "2 dibbers" or "1 sprayer for all".'
        raise NotAccepted.at("tools", sentence)
    return Tool(what=typed["what"], number=number, for_all=typed["all"] is not None)


def _lines(typed: tuple[str, ...]) -> tuple[str, ...]:
    tidy = (" ".join(line.split()) for line in typed)
    return tuple(line for line in tidy if line)


def _day_problems(entry: PracticalEntry, *, today: date) -> Iterator[Problem]:
    if abs(entry.held_on - today) > FARTHEST:
        yield Problem(field="held_on", sentence="Give a day within three years of today.")


def _texts(entry: PracticalEntry) -> Iterator[Problem]:
    if not entry.topic:
        yield Problem(field="topic", sentence='Say what is taught, such as "Semi-ripe cuttings".')
    elif len(entry.topic) > LONGEST_LINE:
        yield Problem(field="topic", sentence=f"Shorten this to at most {LONGEST_LINE} characters.")
    for field in ("steps", "tools", "cautions"):
        lines = getattr(entry, field)
        if len(lines) > MOST_LINES:
            yield Problem(field=field, sentence=f"Give at most {MOST_LINES} lines.")
        if any(len(line) > LONGEST_LINE for line in lines):
            sentence = f"Shorten each line to at most {LONGEST_LINE} characters."
            yield Problem(field=field, sentence=sentence)
    if len(entry.notes) > LONGEST_NOTES:
        sentence = f"Shorten the notes to at most {LONGEST_NOTES:,} characters."
        yield Problem(field="notes", sentence=sentence)


def _numbers(entry: PracticalEntry) -> Iterator[Problem]:
    for field, most in (
        ("heads", MOST_HEADS),
        ("per_head", MOST_PER_HEAD),
        ("per_place", MOST_PER_PLACE),
    ):
        number = getattr(entry, field)
        if number is not None and not 1 <= number <= most:
            yield Problem(field=field, sentence=f"Give a whole number from 1 to {most:,}.")
    if entry.per_head is not None and entry.plant_name_id is None:
        yield Problem(field="plant", sentence="Say of which plant each takes so many cuttings.")
