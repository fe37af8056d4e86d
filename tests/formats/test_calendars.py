"""Due checks as an iCalendar file, read back by icalendar's own parser.

Rules of RFC 5545 (from memory of the text): content lines end in CRLF and are folded at 75 octets
(3.1), DTEND of an all-day event is the day after (3.6.1), UID and DTSTAMP in UTC are required in
each event (3.6.1), a calendar has PRODID and VERSION 2.0 (3.6).
"""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar

from app.domain.calendar_feeds import DueCalendar, DueEvent, EventKind, events_of
from app.formats.calendars import write_calendar

CHANGED = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
EVENT = DueEvent(
    code="26-0147",
    plant="Rosa × damascena 'Quatre Saisons; Été, ligne \\ blanche' Ölüdeniz Kőszeg form",
    kind=EventKind.COUNT,
    due_on=date(2026, 11, 30),
    stuck=1200,
    stuck_on=date(2026, 10, 20),
    unrooted=96,
    benches=("Mist bench 2", "Cold frame"),
)


def written(*events: DueEvent, changes: int = 7) -> bytes:
    due = DueCalendar(name="Checks", events=events, changes=changes, changed_at=CHANGED)
    return write_calendar(due, place="log.example", base="http://192.168.1.20:8321")


def test_lines_are_folded_at_75_octets_and_end_in_crlf() -> None:
    file = written(EVENT)
    assert file.endswith(b"END:VCALENDAR\r\n")
    lines = file.split(b"\r\n")
    assert max(len(line) for line in lines) <= 75
    assert any(line.startswith(b" ") for line in lines)
    assert b"\n" not in file.replace(b"\r\n", b"")
    assert b"\r" not in file.replace(b"\r\n", b"")


def test_it_says_what_is_due_on_which_day() -> None:
    calendar = Calendar.from_ical(written(EVENT))
    assert calendar["version"] == "2.0"
    assert calendar["prodid"]
    (event,) = calendar.walk("VEVENT")
    assert event["dtstart"].params["VALUE"] == "DATE"
    assert event["dtstart"].dt == date(2026, 11, 30)
    assert event["dtend"].dt == date(2026, 12, 1)
    assert event["dtstamp"].dt == CHANGED
    assert b"DTSTAMP:20261125T093000Z" in written(EVENT)
    assert str(event["summary"]) == f"Count 26-0147 {EVENT.plant}"
    assert str(event["location"]) == "Mist bench 2, Cold frame"
    assert "1,200 stuck on 2026-10-20, 96 unrooted." in str(event["description"])
    assert str(event["url"]) == "http://192.168.1.20:8321/to/26-0147"
    assert event["transp"] == "TRANSPARENT"


def test_a_check_that_was_moved_is_the_same_one_moved() -> None:
    moved = replace(EVENT, due_on=EVENT.due_on + timedelta(days=7))
    before, after = (
        Calendar.from_ical(file).walk("VEVENT")
        for file in (written(EVENT), written(moved, changes=8))
    )
    assert [len(before), len(after)] == [1, 1]
    assert before[0]["uid"] == after[0]["uid"] == "26-0147-count@log.example"
    assert after[0]["sequence"] > before[0]["sequence"]
    assert after[0]["dtstart"].dt == date(2026, 12, 7)


def test_a_look_before_the_count_is_an_event_of_its_own() -> None:
    look, count = date(2026, 11, 27), date(2026, 12, 4)
    both = events_of(EVENT, look_on=look, count_on=count)
    assert [(event.kind, event.due_on) for event in both] == [
        (EventKind.LOOK, look),
        (EventKind.COUNT, count),
    ]
    assert len({event.key for event in both}) == 2
    assert [event.kind for event in events_of(EVENT, look_on=count, count_on=count)] == [
        EventKind.COUNT
    ]
    assert [event.kind for event in events_of(EVENT, look_on=look, count_on=None)] == [
        EventKind.LOOK
    ]
    assert both[0].title.startswith("Look at 26-0147")


@given(
    plant=st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=120),
    bench=st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=60),
)
def test_whatever_is_written_comes_back(plant: str, bench: str) -> None:
    file = written(replace(EVENT, plant=plant, benches=(bench,) if bench else ()))
    assert max(len(line) for line in file.split(b"\r\n")) <= 75
    (event,) = Calendar.from_ical(file).walk("VEVENT")
    assert str(event["summary"]) == f"Count 26-0147 {plant}"
    if bench:
        assert str(event["location"]) == bench
