"""What happens to stock plants, and what follows from it. Common practice, no source."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.people import Actor, Role
from app.domain.problems import NotAccepted, NotAllowed
from app.domain.stock_plant_events import (
    EventEntry,
    EventKind,
    PlantEvent,
    PlantFigures,
    Result,
    accepted_event,
    figures_of,
    plants_on,
    refuse_event,
    standing_events,
)
from tests.conftest import TODAY

DAY = timedelta(days=1)
INSPECTED = EventEntry(kind=EventKind.INSPECTED, happened_on=TODAY, result=Result.GOOD)
TESTED = replace(INSPECTED, kind=EventKind.TESTED, about="a virus")
COUNTED = EventEntry(kind=EventKind.COUNTED, happened_on=TODAY, plants=4)


def event(number: int, kind: EventKind, ago: int, **more: object) -> PlantEvent:
    on = TODAY - timedelta(days=ago)
    return PlantEvent(id=number, kind=kind, happened_on=on, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("entry", "field"),
    [
        (replace(COUNTED, plants=None), "plants"),
        (replace(COUNTED, plants=0), "plants"),
        (replace(COUNTED, happened_on=TODAY + DAY), "happened_on"),
        (replace(COUNTED, happened_on=TODAY - 100 * DAY), "happened_on"),
        (replace(INSPECTED, result=Result.NONE), "result"),
        (replace(INSPECTED, result=Result.DOUBT), "finding"),
        (replace(INSPECTED, result=Result.BAD, finding=" "), "finding"),
        (replace(INSPECTED, until_on=TODAY - DAY), "until_on"),
        (replace(TESTED, result=Result.BAD, about=""), "about"),
        (replace(INSPECTED, kind=EventKind.TRUE_TO_TYPE, result=Result.BAD), "finding"),
        (EventEntry(kind=EventKind.RENEWAL, happened_on=TODAY), "until_on"),
        (replace(INSPECTED, finding="x" * 201), "finding"),
        (replace(INSPECTED, note="x" * 2_001), "note"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(entry: EventEntry, field: str) -> None:
    with pytest.raises(NotAccepted) as refused:
        accepted_event(entry, today=TODAY, came_on=TODAY - 99 * DAY)
    assert [problem.field for problem in refused.value.problems] == [field]


def test_texts_are_tidied() -> None:
    tidy = accepted_event(
        replace(TESTED, about=" a  virus ", note=" x "), today=TODAY, came_on=None
    )
    assert (tidy.about, tidy.note) == ("a virus", "x")


def test_figures_are_those_of_the_newest_of_each_kind() -> None:
    events = [
        event(1, EventKind.COUNTED, 90, plants=12),
        event(2, EventKind.COUNTED, 10, plants=9),
        event(3, EventKind.COUNTED, 30, plants=11),
        event(4, EventKind.CUT_BACK, 60),
        event(5, EventKind.RENEWAL, 60, until_on=TODAY),
        event(6, EventKind.RENEWED, 20, until_on=TODAY + 900 * DAY),
        event(7, EventKind.INSPECTED, 20, result=Result.GOOD, until_on=TODAY + 7 * DAY),
        event(8, EventKind.TRUE_TO_TYPE, 40, result=Result.GOOD),
        event(9, EventKind.TRUE_TO_TYPE, 2, result=Result.DOUBT, finding="pale"),
    ]
    assert figures_of(events) == PlantFigures(
        plants=9,
        cut_back_on=TODAY - 60 * DAY,
        renew_by=TODAY + 900 * DAY,
        next_inspection_on=TODAY + 7 * DAY,
        true_to_type_on=TODAY - 40 * DAY,
    )


def test_the_test_that_runs_out_first_counts_for_each_thing_tested_for() -> None:
    good, long, short = Result.GOOD, TODAY + 300 * DAY, TODAY + 30 * DAY
    nameless = event(1, EventKind.TESTED, 90, result=good, until_on=TODAY - DAY)
    virus = event(2, EventKind.TESTED, 60, about="A virus", result=good, until_on=short)
    rot = event(3, EventKind.TESTED, 50, about="a rot", result=good, until_on=long)
    again = event(4, EventKind.TESTED, 5, about="a VIRUS", result=good, until_on=long)
    assert figures_of([nameless]).tested_until == TODAY - DAY
    # Any later test takes the place of one that does not say for what.
    assert figures_of([nameless, virus, rot]).tested_until == short
    assert figures_of([nameless, virus, rot, again]).tested_until == long
    found = replace(again, id=5, result=Result.BAD)
    assert standing_events([virus, rot, found]) == (rot, found)
    assert figures_of([virus, found]).tested_until is None


EVENTS = st.lists(
    st.builds(
        PlantEvent,
        id=st.integers(1, 10_000),
        kind=st.sampled_from(list(EventKind)),
        happened_on=st.dates(date(2024, 1, 1), date(2024, 3, 1)),
        plants=st.integers(1, 9),
        about=st.sampled_from(["", "rot", "virus"]),
        result=st.sampled_from(list(Result)),
    ),
    unique_by=lambda one: one.id,
    max_size=12,
)


@given(events=EVENTS, shuffled=st.randoms())
def test_the_order_of_entry_does_not_matter(
    events: list[PlantEvent],
    shuffled: "st.random.Random",  # type: ignore[name-defined]
) -> None:
    other = list(events)
    shuffled.shuffle(other)
    assert standing_events(other) == standing_events(events)
    assert figures_of(other) == figures_of(events)


def test_how_many_plants_there_were() -> None:
    counts = ((TODAY - 20 * DAY, 12), (TODAY - 10 * DAY, 9), (TODAY - 10 * DAY, 8))
    ago = {30: 12, 20: 12, 11: 12, 10: 8, 0: 8}
    assert {days: plants_on(TODAY - days * DAY, counts=counts) for days in ago} == ago
    assert plants_on(TODAY, counts=()) is None


def test_only_the_head_says_that_something_is_over() -> None:
    trainee = Actor(person_id=2, person_key="t", name="T", role=Role.TRAINEE)
    head = replace(trainee, role=Role.HEAD)
    sick = event(1, EventKind.INSPECTED, 3, result=Result.BAD, finding="blackleg")
    with pytest.raises(NotAllowed, match="blackleg"):
        refuse_event(trainee, entry=INSPECTED, standing=[sick])
    refuse_event(head, entry=INSPECTED, standing=[sick])
    refuse_event(trainee, entry=COUNTED, standing=[sick])
    worse = replace(INSPECTED, result=Result.BAD, finding="more of it")
    refuse_event(trainee, entry=worse, standing=[sick])
    with pytest.raises(NotAllowed, match="head"):
        refuse_event(trainee, entry=TESTED, standing=[])
