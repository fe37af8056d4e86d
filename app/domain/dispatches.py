"""Dispatches: plants that left the nursery, to whom and when. A name and a reference, no more."""

import re
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from app.domain.days import day_long
from app.domain.problems import NotAccepted, Problem

LONGEST_NAME: Final = 120
LONGEST_NOTES: Final = 2_000
MOST_LINES: Final = 200
_LINE: Final = re.compile(
    r"(?P<code>(?:[a-z]\s?-?\s?)?[0-9][0-9/-]*)(?:\s*[,:;x]?\s+|\s*[:;]\s*)"
    r"(?P<number>[0-9][0-9.,' ]*)",
    re.IGNORECASE,
)


@dataclass(frozen=True, kw_only=True)
class SentLine:
    """So many plants of a liner lot, or of a batch in its trays, by the code as typed."""

    code: str
    number: int


@dataclass(frozen=True, kw_only=True)
class DispatchEntry:
    """A dispatch as entered."""

    sent_on: date
    to_name: str
    reference: str = ""
    lines: tuple[SentLine, ...] = ()
    notes: str = ""


def read_lines(text: str) -> tuple[SentLine, ...]:
    """Return what was typed, one to a line: "L-0001 120" or "26-0147 40".

    Raises:
        NotAccepted: at "lines", naming the line that cannot be read.
    """
    found = []
    for place, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        typed = _LINE.fullmatch(line.strip())
        number = re.sub(r"[., ']", "", typed["number"]) if typed else ""
        if typed is None or not 1 <= int(number) < 10**7:
            sentence = f"Line {place} is to be a code and a number, such as L-0001 120."
            raise NotAccepted.at("lines", sentence)
        found.append(SentLine(code=typed["code"], number=int(number)))
    return tuple(found)


def accepted_dispatch(entry: DispatchEntry, *, today: date) -> DispatchEntry:
    """Return the entry tidied.

    Raises:
        NotAccepted: nobody is named, nothing is sent, or the day is to come, by its field.
    """
    tidy = replace(
        entry,
        to_name=" ".join(entry.to_name.split()),
        reference=" ".join(entry.reference.split()),
        notes=entry.notes.strip(),
    )
    faults = {
        "sent_on": tidy.sent_on > today
        and f"{day_long(tidy.sent_on)} is still to come: give the day they left.",
        "to_name": not tidy.to_name and "Say to whom: a name is enough.",
        "lines": _lines_fault(tidy.lines),
        "notes": len(tidy.notes) > LONGEST_NOTES
        and f"Shorten the notes to at most {LONGEST_NOTES:,} letters.",
    }
    short = f"Keep it within {LONGEST_NAME} letters."
    long = {
        field: len(getattr(tidy, field)) > LONGEST_NAME and short
        for field in ("to_name", "reference")
    }
    problems = [
        Problem(field=field, sentence=said)
        for found in (faults, long)
        for field, said in found.items()
        if said
    ]
    if problems:
        raise NotAccepted(tuple(problems))
    return tidy


def _lines_fault(lines: tuple[SentLine, ...]) -> str:
    if not lines:
        return "Say what was sent, one to a line: a code and a number."
    if len(lines) > MOST_LINES:
        return f"Give at most {MOST_LINES} lines; enter the rest as another dispatch."
    return ""
