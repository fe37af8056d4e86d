"""What happens to stock plants, by day: counted, cut back, renewed, tested, looked at, inspected.

Each is a record by itself and never edited: a wrong one is withdrawn with a reason. What a stock
plant says of itself (how many plants, tested until, the next inspection) follows from them.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Final

from app.domain.days import day_long
from app.domain.people import Actor, Role
from app.domain.problems import NotAccepted, NotAllowed, Problem
from app.domain.stock_plants import LONGEST_TEXT, MOST_PLANTS

LONGEST_NOTE: Final = 2_000


class EventKind(StrEnum):
    """What happened."""

    COUNTED = "counted"
    CUT_BACK = "cut back"
    RENEWED = "renewed"
    RENEWAL = "renewal set"
    TESTED = "tested"
    TRUE_TO_TYPE = "true to type"
    INSPECTED = "inspected"

    @property
    def slug(self) -> str:
        """The kind as it stands in an address."""
        return self.value.replace(" ", "-")


class Result(StrEnum):
    """What a test, an inspection or a look for truth to type came to."""

    NONE = ""
    GOOD = "good"
    DOUBT = "in doubt"
    BAD = "bad"


JUDGED: Final = (EventKind.INSPECTED, EventKind.TESTED, EventKind.TRUE_TO_TYPE)
"""The kinds that have a result."""

AHEAD: Final = (EventKind.INSPECTED, EventKind.TESTED, EventKind.RENEWED, EventKind.RENEWAL)
"""The kinds that look ahead to a day."""

FOR_ALL: Final = (EventKind.INSPECTED, EventKind.COUNTED, EventKind.CUT_BACK)
"""The kinds that whoever looks after plants writes down; the others are the head's."""

_RENEWALS: Final = (EventKind.RENEWED, EventKind.RENEWAL)
_GRAVITY: Final = {Result.NONE: 0, Result.GOOD: 0, Result.DOUBT: 1, Result.BAD: 2}


@dataclass(frozen=True, kw_only=True)
class EventEntry:
    """One happening as it is entered.

    `plants` is how many were counted, `about` what was tested for, `finding` what was seen or the
    words of a test, `until_on` the day by which to look, test or renew again.
    """

    kind: EventKind
    happened_on: date
    by_id: int | None = None
    plants: int | None = None
    about: str = ""
    result: Result = Result.NONE
    finding: str = ""
    until_on: date | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class PlantEvent:
    """One happening as it counts: those withdrawn are left out before."""

    id: int
    kind: EventKind
    happened_on: date
    plants: int | None = None
    about: str = ""
    result: Result = Result.NONE
    finding: str = ""
    until_on: date | None = None


@dataclass(frozen=True, kw_only=True)
class PlantFigures:
    """What a stock plant says of itself by what happened to it; `plants` None if never counted."""

    plants: int | None = None
    cut_back_on: date | None = None
    renew_by: date | None = None
    tested_until: date | None = None
    true_to_type_on: date | None = None
    next_inspection_on: date | None = None


FIGURES: Final = tuple(PlantFigures.__dataclass_fields__)


def accepted_event(entry: EventEntry, *, today: date, came_on: date | None) -> EventEntry:
    """Return the entry with its texts tidied.

    Raises:
        NotAccepted: a day that cannot be, no number where one is counted, no result where one is
            asked for, or something found that is not said.
    """
    tidy = replace(
        entry,
        about=" ".join(entry.about.split()),
        finding=" ".join(entry.finding.split()),
        note=entry.note.strip(),
    )
    if problems := (*_days(tidy, today=today, came_on=came_on), *_facts(tidy), *_words(tidy)):
        raise NotAccepted(problems)
    return tidy


def refuse_event(actor: Actor, *, entry: EventEntry, standing: Iterable[PlantEvent]) -> None:
    """Let pass what this person may write down; `standing` are the events that stand now.

    Whoever looks after plants counts them, cuts them back and inspects them; but only the head
    says that what was found before is over, since cuttings are taken on that word.

    Raises:
        NotAllowed: it is the head's to write down; the words say so.
    """
    if actor.role is Role.HEAD:
        return
    if entry.kind not in FOR_ALL:
        raise NotAllowed("Tests, truth to type and renewals are written down by the head.")
    for known in standing:
        if known.kind is entry.kind and _GRAVITY[entry.result] < _GRAVITY[known.result]:
            raise NotAllowed(
                f"On {day_long(known.happened_on)} something was found: {known.finding}. Only the "
                "head propagator can say that it is over: tell the head what you saw."
            )


def standing_events(events: Iterable[PlantEvent]) -> tuple[PlantEvent, ...]:
    """Return the events that tell how the plant is now, the newest of each kind.

    Of tests it is the newest for each thing tested for; one that does not say for what stands
    until any later test. Of those on the same day the one entered last counts. A renewal that was
    set and one that was made are of one kind.
    """
    found: dict[tuple[str, str], PlantEvent] = {}
    for event in in_order(events):
        kind = EventKind.RENEWED if event.kind in _RENEWALS else event.kind
        if kind is EventKind.TESTED:
            found.pop((kind, ""), None)
        found[kind, event.about.casefold()] = event
    return tuple(in_order(found.values()))


def figures_of(events: Sequence[PlantEvent]) -> PlantFigures:
    """Return what follows from a plant's events, those withdrawn left out."""
    by_kind: dict[EventKind, list[PlantEvent]] = {}
    for event in standing_events(events):
        kind = EventKind.RENEWED if event.kind in _RENEWALS else event.kind
        by_kind.setdefault(kind, []).append(event)

    def newest(kind: EventKind) -> PlantEvent | None:
        return next(iter(by_kind.get(kind, ())), None)

    counted, cut_back = newest(EventKind.COUNTED), newest(EventKind.CUT_BACK)
    renewed, inspected = newest(EventKind.RENEWED), newest(EventKind.INSPECTED)
    # The test that runs out first is the one to have made again.
    tested = [
        event.until_on
        for event in by_kind.get(EventKind.TESTED, ())
        if event.result is Result.GOOD and event.until_on is not None
    ]
    true_on = [
        event.happened_on
        for event in events
        if event.kind is EventKind.TRUE_TO_TYPE and event.result is Result.GOOD
    ]
    return PlantFigures(
        plants=counted.plants if counted else None,
        cut_back_on=cut_back.happened_on if cut_back else None,
        renew_by=renewed.until_on if renewed else None,
        tested_until=min(tested, default=None),
        true_to_type_on=max(true_on, default=None),
        next_inspection_on=inspected.until_on if inspected else None,
    )


def plants_on(day: date, *, counts: Iterable[tuple[date, int]]) -> int | None:
    """Return how many plants there were on a day, by (day, number) in the order of the days.

    The newest count up to that day holds; before the first one, the first. None without a count.
    """
    known: int | None = None
    for counted_on, number in counts:
        if known is not None and counted_on > day:
            break
        known = number
    return known


def in_order(events: Iterable[PlantEvent]) -> list[PlantEvent]:
    """Return the events by day, those of one day as they were entered."""
    return sorted(events, key=lambda event: (event.happened_on, event.id))


def finding_words(event: PlantEvent) -> str:
    """Return what an event found as the reason of a state, "" where it found nothing."""
    if event.result not in {Result.DOUBT, Result.BAD}:
        return ""
    on = day_long(event.happened_on)
    bad = event.result is Result.BAD
    said = f": {event.finding}" if event.finding else ""
    if event.kind is EventKind.TESTED:
        what = event.about or "the test"
        told = f"{what} found in the test of {on}" if bad else f"{what} of {on} not clear"
        if event.about and not bad:
            told = f"the test for {what} of {on} is not clear"
        return told + said
    if event.kind is EventKind.TRUE_TO_TYPE:
        told = "not true to type" if bad else "in doubt whether true to type"
        return f"{told}, looked at on {on}{said}"
    return f"inspected on {on}{said}"


def _days(entry: EventEntry, *, today: date, came_on: date | None) -> Iterator[Problem]:
    if entry.happened_on > today:
        sentence = "This day is still to come: give one up to today."
        yield Problem(field="happened_on", sentence=sentence)
    elif came_on is not None and entry.happened_on < came_on:
        sentence = f"It came on {day_long(came_on)}: give that day or a later one."
        yield Problem(field="happened_on", sentence=sentence)
    if entry.kind is EventKind.RENEWAL and entry.until_on is None:
        yield Problem(field="until_on", sentence="Give the day by which it is to be renewed.")
    if entry.until_on is not None and entry.until_on < entry.happened_on:
        yield Problem(field="until_on", sentence="Give a day after the one on which it happened.")


def _facts(entry: EventEntry) -> Iterator[Problem]:
    if entry.kind is EventKind.COUNTED and not 1 <= (entry.plants or 0) <= MOST_PLANTS:
        sentence = (
            f"Give the number of plants, from 1 to {MOST_PLANTS:,}. If none is left, discard it "
            "on its own page."
        )
        yield Problem(field="plants", sentence=sentence)
    if entry.kind in JUDGED and entry.result is Result.NONE:
        yield Problem(field="result", sentence="Choose what came of it.")
    found = entry.result in {Result.DOUBT, Result.BAD}
    if found and entry.kind is not EventKind.TESTED and not entry.finding:
        yield Problem(field="finding", sentence="Say what was found, for whoever asks.")
    if entry.kind is EventKind.TESTED and entry.result is not Result.GOOD and not entry.about:
        yield Problem(field="about", sentence="Say what it was tested for.")


def _words(entry: EventEntry) -> Iterator[Problem]:
    for field in ("about", "finding"):
        if len(getattr(entry, field)) > LONGEST_TEXT:
            sentence = f"Shorten this to at most {LONGEST_TEXT} characters."
            yield Problem(field=field, sentence=sentence)
    if len(entry.note) > LONGEST_NOTE:
        sentence = f"Shorten this to at most {LONGEST_NOTE:,} characters."
        yield Problem(field="note", sentence=sentence)
