"""Due checks as they stand in a calendar: which ones, and what each says."""

from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import StrEnum


class FeedScope(StrEnum):
    """Whose or where the batches are that a calendar tells of."""

    ALL = "all"
    BENCH = "bench"
    OWN = "own"


class EventKind(StrEnum):
    """What is due: a look without numbers, or a count."""

    LOOK = "look"
    COUNT = "count"


@dataclass(frozen=True, kw_only=True)
class DueEvent:
    """One due check of a batch; `benches` are those it stands on now."""

    code: str
    plant: str
    kind: EventKind
    due_on: date
    stuck: int
    stuck_on: date
    unrooted: int
    benches: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """What stays the same however often the check is moved: the batch and the kind."""
        return f"{self.code}-{self.kind}"

    @property
    def title(self) -> str:
        """What the calendar shows on the day."""
        verb = "Count" if self.kind is EventKind.COUNT else "Look at"
        return f"{verb} {self.code} {self.plant}"


@dataclass(frozen=True, kw_only=True)
class DueCalendar:
    """The due checks of a calendar as they stand after the `changes`-th change of the log."""

    name: str
    events: tuple[DueEvent, ...]
    changes: int
    changed_at: datetime


def events_of(
    event: DueEvent, *, look_on: date | None, count_on: date | None
) -> tuple[DueEvent, ...]:
    """Return a batch's due checks: the next count, and a look where one comes before it.

    `event` holds what both say; its kind and day are put in here.
    """
    found = []
    if look_on is not None and (count_on is None or look_on < count_on):
        found.append(replace(event, kind=EventKind.LOOK, due_on=look_on))
    if count_on is not None:
        found.append(replace(event, kind=EventKind.COUNT, due_on=count_on))
    return tuple(found)
