"""Benches, beds and frames: what is entered of one."""

from dataclasses import dataclass
from typing import Final

from app.domain.problems import NotAccepted, Problem

MOST_TRAYS: Final = 100_000
LONGEST_NAME: Final = 80
LONGEST_NOTES: Final = 5_000


@dataclass(frozen=True, kw_only=True)
class BenchEntry:
    """A bench as it is entered; `capacity_trays` is how many trays have room on it."""

    name: str
    capacity_trays: int | None = None
    notes: str = ""


def accepted_bench(entry: BenchEntry) -> BenchEntry:
    """Return the entry with its texts tidied.

    Raises:
        NotAccepted: no name, a text too long, or a capacity that cannot be.
    """
    name, notes = " ".join(entry.name.split()), entry.notes.strip()
    problems = []
    if not name:
        problems.append(Problem(field="name", sentence='Give it a name, such as "Mist bench 2".'))
    if len(name) > LONGEST_NAME:
        sentence = f"Shorten the name to at most {LONGEST_NAME} characters."
        problems.append(Problem(field="name", sentence=sentence))
    if entry.capacity_trays is not None and not 0 <= entry.capacity_trays <= MOST_TRAYS:
        sentence = f"Give the room in whole trays, up to {MOST_TRAYS:,}, or leave it blank."
        problems.append(Problem(field="capacity_trays", sentence=sentence))
    if len(notes) > LONGEST_NOTES:
        sentence = f"Shorten the notes to at most {LONGEST_NOTES:,} characters."
        problems.append(Problem(field="notes", sentence=sentence))
    if problems:
        raise NotAccepted(tuple(problems))
    return BenchEntry(name=name, capacity_trays=entry.capacity_trays, notes=notes)
