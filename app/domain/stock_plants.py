"""Stock plants: what is entered of one, and what holds for it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import StrEnum
from typing import Final

from app.domain.problems import NotAccepted, Problem

MOST_PLANTS: Final = 100_000
MOST_REST_WEEKS: Final = 104
MOST_PER_PLANT: Final = 10_000
LONGEST_TEXT: Final = 200
LONGEST_NOTES: Final = 5_000


class StockPlantState(StrEnum):
    """Whether cuttings may be taken, as set by hand or as it follows from the plant's record."""

    FIT = "fit to cut"
    RESTING = "resting"
    WATCHED = "watched"
    ON_HOLD = "on hold"
    DISCARDED = "discarded"


class Origin(StrEnum):
    """Where a stock plant came from; what was collected was collected with permission."""

    NOT_RECORDED = ""
    BOUGHT_IN = "bought in"
    RAISED_HERE = "raised here"
    GIVEN = "given"
    COLLECTED = "collected"


@dataclass(frozen=True, kw_only=True)
class StockPlantEntry:
    """A mother plant, or a group of `plants` identical ones, as it is entered.

    `plants`, `cut_back_on`, `renew_by`, `tested_until` and `true_to_type_on` are how it began;
    from then on they follow from what happens to it.

    `raised_from_id` is the batch it was raised from. `rest_weeks` are to pass between two cuts,
    `expected_per_plant` is how many cuttings a plant usually gives at one. Nobody is to work
    among the plants before `reentry_at`.
    """

    plant_name_id: int
    plants: int = 1
    bench_id: int | None = None
    state: StockPlantState = StockPlantState.FIT
    state_reason: str = ""
    origin: Origin = Origin.NOT_RECORDED
    raised_from_id: int | None = None
    supplier: str = ""
    supplier_reference: str = ""
    came_on: date | None = None
    rest_weeks: int | None = None
    expected_per_plant: float | None = None
    cut_back_on: date | None = None
    renew_by: date | None = None
    tested_until: date | None = None
    true_to_type_on: date | None = None
    flowering: bool | None = None
    reentry_at: datetime | None = None
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class StateToday:
    """How a stock plant stands on a day; `until` is the last day of a rest after a cut."""

    state: StockPlantState
    reason: str = ""
    until: date | None = None


def accepted_stock_plant(entry: StockPlantEntry, *, today: date) -> StockPlantEntry:
    """Return the entry with its texts tidied.

    Raises:
        NotAccepted: a number or a day cannot be, or a plant on hold has no reason.
    """
    one_line = ("state_reason", "supplier", "supplier_reference")
    texts = {field: " ".join(getattr(entry, field).split()) for field in one_line}
    tidy = replace(
        entry,
        state_reason=texts["state_reason"],
        supplier=texts["supplier"],
        supplier_reference=texts["supplier_reference"],
        notes=entry.notes.strip(),
    )
    problems = (*_numbers(tidy), *_days(tidy, today=today), *_words(tidy))
    if problems:
        raise NotAccepted(problems)
    return tidy


def _numbers(entry: StockPlantEntry) -> Iterator[Problem]:
    if not 1 <= entry.plants <= MOST_PLANTS:
        sentence = f"Give the number of plants, from 1 to {MOST_PLANTS:,}."
        yield Problem(field="plants", sentence=sentence)
    if entry.rest_weeks is not None and not 0 <= entry.rest_weeks <= MOST_REST_WEEKS:
        sentence = f"Give the rest in whole weeks, from 0 to {MOST_REST_WEEKS}."
        yield Problem(field="rest_weeks", sentence=sentence)
    expected = entry.expected_per_plant
    if expected is not None and not 0 < expected <= MOST_PER_PLANT:
        sentence = f"Give the cuttings per plant, above 0 and up to {MOST_PER_PLANT:,}."
        yield Problem(field="expected_per_plant", sentence=sentence)


def _days(entry: StockPlantEntry, *, today: date) -> Iterator[Problem]:
    for field in ("came_on", "cut_back_on", "true_to_type_on"):
        day: date | None = getattr(entry, field)
        if day is not None and day > today:
            yield Problem(field=field, sentence="This day is still to come: give one up to today.")


def _words(entry: StockPlantEntry) -> Iterator[Problem]:
    if entry.state is StockPlantState.DISCARDED:
        yield Problem(field="state", sentence="Discard it on its own page, with day and reason.")
    if entry.state is StockPlantState.ON_HOLD and not entry.state_reason:
        yield Problem(field="state_reason", sentence="Say why it is on hold, for whoever asks.")
    if entry.raised_from_id is not None and entry.origin is not Origin.RAISED_HERE:
        sentence = "Choose “raised here” as its origin, or leave the batch out."
        yield Problem(field="raised_from", sentence=sentence)
    for field in ("state_reason", "supplier", "supplier_reference"):
        if len(getattr(entry, field)) > LONGEST_TEXT:
            sentence = f"Shorten this to at most {LONGEST_TEXT} characters."
            yield Problem(field=field, sentence=sentence)
    if len(entry.notes) > LONGEST_NOTES:
        sentence = f"Shorten the notes to at most {LONGEST_NOTES:,} characters."
        yield Problem(field="notes", sentence=sentence)
