"""Stages of liners as they are entered: what must be said of each, and what may be."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from app.domain.days import day_long
from app.domain.liner_stages import PARTLY, Stage
from app.domain.problems import NotAccepted, Problem

LONGEST_GRADE: Final = 60
LONGEST_NOTE: Final = 2_000
MOST_TRAYS: Final = 10_000
MOST_LITRES: Final = 100_000.0
INTO_CONTAINERS: Final = frozenset({Stage.POTTED_UP, Stage.POTTED_ON})


@dataclass(frozen=True, kw_only=True)
class StageEntry:
    """A stage as entered. `number` is None for the whole lot.

    The container, mix lot and litres used are of potting up and on, the cause of losses, the grade
    of what was graded out. `bench_id` and `trays` say where plants that become a lot or stock
    plants stand from then on.
    """

    stage: Stage
    on: date
    number: int | None = None
    container_id: int | None = None
    mix_lot_id: int | None = None
    litres: float | None = None
    cause_id: int | None = None
    grade: str = ""
    bench_id: int | None = None
    trays: int | None = None
    person_id: int | None = None
    notes: str = ""


def accepted_stage(entry: StageEntry, *, today: date) -> StageEntry:
    """Return the entry with its texts tidied, without what says nothing about its stage.

    Raises:
        NotAccepted: the day is to come, or the number, cause or grade is missing or wrong.
    """
    potting, lost = entry.stage in INTO_CONTAINERS, entry.stage is Stage.LOST
    tidy = replace(
        entry,
        container_id=entry.container_id if potting else None,
        mix_lot_id=entry.mix_lot_id if potting else None,
        litres=entry.litres if potting and entry.mix_lot_id is not None else None,
        cause_id=entry.cause_id if lost else None,
        grade=" ".join(entry.grade.split()) if entry.stage is Stage.GRADED_OUT else "",
        notes=entry.notes.strip(),
    )
    if problems := tuple(_problems(tidy, today=today)):
        raise NotAccepted(problems)
    return tidy


def _problems(entry: StageEntry, *, today: date) -> list[Problem]:
    faults = {
        "on": entry.on > today and f"{day_long(entry.on)} is still to come: give the day it was.",
        "number": _number_fault(entry),
        "cause": entry.stage is Stage.LOST
        and entry.cause_id is None
        and "Say what they were lost to; “not known” is an answer.",
        "grade": _grade_fault(entry),
        "trays": entry.trays is not None
        and not 1 <= entry.trays <= MOST_TRAYS
        and f"Give trays from 1 to {MOST_TRAYS:,}.",
        "litres": entry.litres is not None
        and not 0 <= entry.litres <= MOST_LITRES
        and f"Give litres from 0 to {MOST_LITRES:,.0f}.",
        "notes": len(entry.notes) > LONGEST_NOTE
        and f"Keep the note within {LONGEST_NOTE:,} letters.",
    }
    return [Problem(field=field, sentence=said) for field, said in faults.items() if said]


def _number_fault(entry: StageEntry) -> str:
    if entry.number is None:
        return "Say how many." if entry.stage.counts else ""
    if entry.number < 1:
        return "Give a number from 1 upwards."
    if not entry.stage.counts and entry.stage not in PARTLY:
        return "This is said of the whole lot: leave the number blank."
    return ""


def _grade_fault(entry: StageEntry) -> str:
    if entry.stage is not Stage.GRADED_OUT:
        return ""
    if not entry.grade:
        return "Say why or as what, such as too small."
    long = len(entry.grade) > LONGEST_GRADE
    return f"Keep it within {LONGEST_GRADE} letters." if long else ""
