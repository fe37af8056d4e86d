"""Orders: how many plants are wanted by when and how surely, and what holds for an entry."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Final

from app.domain.cutting_types import CuttingType, is_cutting
from app.domain.days import LATEST, day_long
from app.domain.problems import NotAccepted, Problem

MOST_PLANTS: Final = 1_000_000
LEAST_SURE: Final = 0.5
MOST_SURE: Final = 0.99
USUAL_SURE: Final = 0.9
MOST_PER_PLACE: Final = 20
MOST_BATCHES: Final = 20
USUAL_BATCHES: Final = 3
MOST_WINDOW_WEEKS: Final = 52
USUAL_WINDOW_WEEKS: Final = 3
LEAST_READY: Final = 0.05
MOST_WEANING_DAYS: Final = 730
LONGEST_TEXT: Final = 200
NOT_WORKED_OUT: Final = (
    "How many to divide or graft is not worked out from how cuttings strike: choose a type of "
    "cutting, or leave it blank and count the batches to the order."
)
LONGEST_NOTES: Final = 5_000


class OrderState(StrEnum):
    """How an order stands. A closed one is no longer wanted, whether it was met or not."""

    OPEN = "open"
    MET = "met"
    CLOSED = "closed"


class Place(StrEnum):
    """What one ordered plant stands in."""

    PLUG = "plug"
    POT = "pot"


class NotPlannable(StrEnum):
    """Why no number is given."""

    NOTHING_KNOWN = "nothing known"
    TOO_LATE = "too late"
    TOO_MANY = "too many"


@dataclass(frozen=True, kw_only=True)
class OrderEntry:
    """What is wanted, as it is entered: exactly one of `plant_name_id` and `genus_id` is given.

    `plants` plugs or pots are wanted by `due_on` with the chance `sure_share` (0.5 to 0.99). Each
    holds `per_place` cuttings and is good with `enough_per_place` of them rooted. `batches` are
    to be stuck independently of each other over `window_weeks`. `ready_share` (of the rooted, 0.05
    to 1) and `weaning_days` are None where the nursery's own or the usual values are to hold.
    """

    plants: int
    due_on: date
    plant_name_id: int | None = None
    genus_id: int | None = None
    sure_share: float = USUAL_SURE
    place: Place = Place.PLUG
    per_place: int = 1
    enough_per_place: int = 1
    for_whom: str = ""
    cutting_type: CuttingType | None = None
    hormone_id: int | None = None
    batches: int = USUAL_BATCHES
    window_weeks: int = USUAL_WINDOW_WEEKS
    ready_share: float | None = None
    weaning_days: int | None = None
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class Order:
    """An order as it is known: its entry, with the names of what it leans on.

    `plant` is the plant's name, or the genus where any plant of it will do. `hormone` is "" where
    none is asked for. An order that is not open has ended on a day.
    """

    id: int
    number: int
    version: int
    entry: OrderEntry
    plant: str
    genus: str
    genus_id: int
    species: str = ""
    hormone: str = ""
    state: OrderState = OrderState.OPEN
    ended_on: date | None = None
    ended_reason: str = ""

    @property
    def is_open(self) -> bool:
        """Whether the plants are still wanted."""
        return self.state is OrderState.OPEN

    @property
    def name(self) -> str:
        """The order as it is called, such as "order 12"."""
        return order_name(self.number)

    @property
    def sure_words(self) -> str:
        """How sure it is to be, such as "90 %"."""
        return sure_words(self.entry.sure_share)

    def takes(self, *, plant_name_id: int, genus_id: int) -> bool:
        """Return whether a batch of this name and genus may count to it."""
        wanted = self.entry.plant_name_id
        return genus_id == self.genus_id and wanted in {None, plant_name_id}

    @property
    def whole_genus(self) -> bool:
        """Whether any plant of the genus will do."""
        return self.entry.plant_name_id is None


def order_name(number: int) -> str:
    """Return what an order is called, such as "order 12"."""
    return f"order {number}"


def order_number(name: str) -> int:
    """Return the number of the order that is called by this name."""
    return int(name.rpartition(" ")[2])


def sure_words(share: float) -> str:
    """Return how sure something is to be, such as "90 %" or "97.5 %"."""
    return f"{share * 100:g} %"


def accepted_order(entry: OrderEntry, *, today: date, due_before: date | None = None) -> OrderEntry:
    """Return the entry with its texts tidied.

    `due_before` is the due day of an order that is corrected: that one may lie in the past.

    Raises:
        NotAccepted: a number or the day cannot be.
    """
    tidy = replace(entry, for_whom=" ".join(entry.for_whom.split()), notes=entry.notes.strip())
    problems = (
        *_numbers(tidy),
        *_due(tidy, today=today, due_before=due_before),
        *_type(tidy),
        *_texts(tidy),
    )
    if problems:
        raise NotAccepted(problems)
    return tidy


def _numbers(entry: OrderEntry) -> Iterator[Problem]:
    bounds = (
        ("plants", entry.plants, 1, MOST_PLANTS, "how many plants are wanted"),
        ("per_place", entry.per_place, 1, MOST_PER_PLACE, "the cuttings in each plug or pot"),
        ("batches", entry.batches, 1, MOST_BATCHES, "the number of batches"),
        ("window_weeks", entry.window_weeks, 1, MOST_WINDOW_WEEKS, "the weeks over which to stick"),
    )
    for field, value, least, most, words in bounds:
        if not least <= value <= most:
            yield Problem(field=field, sentence=f"Give {words}, from {least} to {most:,}.")
    if not 1 <= entry.enough_per_place <= max(entry.per_place, 1):
        sentence = "Give how many of them must root, from 1 to all that are stuck in it."
        yield Problem(field="enough_per_place", sentence=sentence)
    if not LEAST_SURE <= entry.sure_share <= MOST_SURE:
        sentence = f"Give how sure in per cent, from {LEAST_SURE:.0%} to {MOST_SURE:.0%}."
        yield Problem(field="sure", sentence=sentence.replace("%", " %"))
    ready = entry.ready_share
    if ready is not None and not LEAST_READY <= ready <= 1:
        sentence = f"Give the share ready of those rooted, from {LEAST_READY:.0%} to 100%."
        yield Problem(field="ready", sentence=sentence.replace("%", " %"))
    weaning = entry.weaning_days
    if weaning is not None and not 0 <= weaning <= MOST_WEANING_DAYS:
        sentence = f"Give the days from rooted to ready, from 0 to {MOST_WEANING_DAYS}."
        yield Problem(field="weaning_days", sentence=sentence)


def _due(entry: OrderEntry, *, today: date, due_before: date | None) -> Iterator[Problem]:
    if entry.due_on == due_before:
        return
    if entry.due_on <= today:
        sentence = f"{day_long(entry.due_on)} is not to come any more: give a day after today."
        yield Problem(field="due_on", sentence=sentence)
    if entry.due_on > LATEST:
        yield Problem(field="due_on", sentence=f"Give a day up to {LATEST.year}.")


def _type(entry: OrderEntry) -> Iterator[Problem]:
    if not is_cutting(entry.cutting_type):
        yield Problem(field="cutting_type", sentence=NOT_WORKED_OUT)


def _texts(entry: OrderEntry) -> Iterator[Problem]:
    if len(entry.for_whom) > LONGEST_TEXT:
        sentence = f"Shorten this to at most {LONGEST_TEXT} characters."
        yield Problem(field="for_whom", sentence=sentence)
    if len(entry.notes) > LONGEST_NOTES:
        sentence = f"Shorten the notes to at most {LONGEST_NOTES:,} characters."
        yield Problem(field="notes", sentence=sentence)
