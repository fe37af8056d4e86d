"""What must hold for a batch as entered, each rule with the sentence that says what to do."""

from collections.abc import Iterator
from datetime import date
from typing import Final

from app.domain.batches import CARD_FIELDS, BatchEntry, SourceKind, SourceLine
from app.domain.days import EARLIEST, day_long
from app.domain.problems import NotAccepted, Problem
from app.domain.quantities import MOST_CUTTINGS, Quantity
from app.domain.way_details import detail_problems

LONGEST_TEXT: Final = 200
LONGEST_NOTE: Final = 4000
RANGES: Final[dict[str, tuple[float, float, str]]] = {
    "stored_hours": (0, 8760, "hours"),
    "stored_c": (-10, 40, "°C"),
    "gathered_hours": (0, 1000, "hours"),
    "made_hours": (0, 1000, "hours"),
    "hours": (0, 1000, "hours"),
    "length_cm": (0.1, 200, "cm"),
    "leaves_left": (0, 200, "leaves"),
    "dip_s": (0, 172_800, "seconds"),
    "per_place": (1, 1000, "cuttings in a plug or pot"),
    "bottom_heat_c": (-5, 45, "°C"),
}
SOURCE_WORDS: Final = (
    "supplier", "lot", "passport", "condition", "place", "permitted_by", "permit",
)  # fmt: skip
"""What is said in words of a source."""

_OF_COLLECTED: Final = ("place", "permitted_by", "permit")

_SHORT_TEXTS: Final = (
    "thrown_out_cause", "stored_how", "growth_stage", "placed", "cover", "shade", "trial_block",
    "own_reference", "hold_reason", "rights_reason",
)  # fmt: skip


def accept_batch(entry: BatchEntry, *, today: date) -> BatchEntry:
    """Return the entry as it came when every rule holds.

    Raises:
        NotAccepted: with one problem for each broken rule, named by the field it stands by.
    """
    problems = tuple(batch_problems(entry, today=today))
    if problems:
        raise NotAccepted(problems)
    return entry


def batch_problems(entry: BatchEntry, *, today: date) -> Iterator[Problem]:
    """Yield what is wrong with an entry, in the order of its fields."""
    yield from _numbers(entry)
    yield from _days(entry, today=today)
    yield from _sources(entry)
    for field, (low, high, unit) in RANGES.items():
        value = getattr(entry, field)
        if value is not None and not low <= value <= high:
            yield Problem(field=field, sentence=f"Give from {low:g} to {high:,.15g} {unit}.")
    yield from _texts(entry)
    yield from detail_problems(entry.details, cutting_type=entry.cutting_type)


def _numbers(entry: BatchEntry) -> Iterator[Problem]:
    if not 1 <= entry.stuck <= MOST_CUTTINGS:
        sentence = f"Give the number stuck, from 1 to {MOST_CUTTINGS:,}."
        yield Problem(field="stuck", sentence=sentence)
    elif _in_trays(entry) not in (None, entry.stuck):
        sentence = f"The trays less their gaps hold {_in_trays(entry):,}, not {entry.stuck:,}."
        yield Problem(field="stuck", sentence=sentence)
    for field in ("taken", "thrown_out"):
        value = getattr(entry, field)
        if value is not None and not 0 <= value <= MOST_CUTTINGS:
            yield Problem(field=field, sentence=f"Give a number from 0 to {MOST_CUTTINGS:,}.")
    if entry.taken is not None:
        yield from _taken(entry, taken=entry.taken, thrown_out=entry.thrown_out or 0)


def _in_trays(entry: BatchEntry) -> int | None:
    if entry.trays is None or entry.per_tray is None:
        return None
    return entry.trays * entry.per_tray - (entry.gaps or 0)


def _taken(entry: BatchEntry, *, taken: int, thrown_out: int) -> Iterator[Problem]:
    if thrown_out > taken:
        sentence = f"Only {taken:,} were taken, so {thrown_out:,} cannot have been thrown out."
        yield Problem(field="thrown_out", sentence=sentence)
    elif entry.stuck > taken - thrown_out:
        less = f" less {thrown_out:,} thrown out" if thrown_out else ""
        sentence = (
            f"{taken:,} taken{less} leave {taken - thrown_out:,} to stick, not {entry.stuck:,}. "
            "Correct one of the numbers, or leave taken blank if nobody counted."
        )
        yield Problem(field="taken", sentence=sentence)
    named = sum(line.number or 0 for line in entry.sources)
    if named > taken:
        sentence = f"The sources give {named:,} together, more than the {taken:,} taken."
        yield Problem(field="taken", sentence=sentence)
    elif every_source_numbered(entry) and named < taken - thrown_out:
        less = f", {thrown_out:,} of them thrown out" if thrown_out else ""
        sentence = (
            f"The sources give {named:,} together, but {taken:,} were taken{less}. Name the other "
            "source, or correct one of the numbers."
        )
        yield Problem(field="taken", sentence=sentence)


def every_source_numbered(entry: BatchEntry) -> bool:
    """Return whether there are sources and each says how many came from it."""
    return bool(entry.sources) and all(line.number is not None for line in entry.sources)


def _days(entry: BatchEntry, *, today: date) -> Iterator[Problem]:
    if entry.stuck_on > today:
        sentence = f"{day_long(entry.stuck_on)} is still to come: give the day it was stuck."
        yield Problem(field="stuck_on", sentence=sentence)
    elif entry.stuck_on < EARLIEST:
        yield Problem(field="stuck_on", sentence=f"Give a day from {EARLIEST.year} on.")
    if entry.taken_on and entry.taken_on > entry.stuck_on:
        sentence = (
            f"Stuck on {day_long(entry.stuck_on)}: the cuttings cannot have been taken after that."
        )
        yield Problem(field="taken_on", sentence=sentence)


def _sources(entry: BatchEntry) -> Iterator[Problem]:
    seen: set[int] = set()
    for place, line in enumerate(entry.sources):
        yield from _source(line, at=f"sources-{place}")
        if line.stock_plant_id in seen:
            sentence = "This stock plant is named twice: put its number on one line."
            yield Problem(field=f"sources-{place}-stock_plant", sentence=sentence)
        if line.stock_plant_id is not None:
            seen.add(line.stock_plant_id)


def _source(line: SourceLine, *, at: str) -> Iterator[Problem]:
    named = line.stock_plant_id is not None
    if line.kind is SourceKind.STOCK_PLANT and not named:
        sentence = "Name the stock plant, or choose another kind of source."
        yield Problem(field=f"{at}-stock_plant", sentence=sentence)
    if line.kind is not SourceKind.STOCK_PLANT and named:
        sentence = f"Leave the stock plant blank for material that was {line.kind}."
        yield Problem(field=f"{at}-stock_plant", sentence=sentence)
    if line.number is not None and not 1 <= line.number <= MOST_CUTTINGS:
        sentence = "Give the number from here, at least 1, or leave it blank."
        yield Problem(field=f"{at}-number", sentence=sentence)
    yield from _words_of_source(line, at=at)


def _words_of_source(line: SourceLine, *, at: str) -> Iterator[Problem]:
    if line.kind is not SourceKind.COLLECTED:
        for field in _OF_COLLECTED:
            if getattr(line, field):
                sentence = "Choose “collected” above, or leave this blank."
                yield Problem(field=f"{at}-{field}", sentence=sentence)
    for field in SOURCE_WORDS:
        if len(getattr(line, field)) > LONGEST_TEXT:
            yield Problem(field=f"{at}-{field}", sentence=_too_long(LONGEST_TEXT))


def _texts(entry: BatchEntry) -> Iterator[Problem]:
    for field in _SHORT_TEXTS:
        if len(getattr(entry, field)) > LONGEST_TEXT:
            yield Problem(field=field, sentence=_too_long(LONGEST_TEXT))
    if len(entry.notes) > LONGEST_NOTE:
        yield Problem(field="notes", sentence=_too_long(LONGEST_NOTE))
    if unknown := set(entry.taken_over) - set(CARD_FIELDS):
        sentence = f"A method card does not fill {', '.join(sorted(unknown))}."
        yield Problem(field="", sentence=sentence)


def _too_long(most: int) -> str:
    return f"This is too long: keep it to {most:,} letters."


def quantity_of(entry: BatchEntry) -> Quantity:
    """Return the number stuck as it was given, in trays where it was."""
    return Quantity(
        number=entry.stuck, trays=entry.trays, per_tray=entry.per_tray, gaps=entry.gaps or 0
    )
