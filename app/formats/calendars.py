"""Due checks as an iCalendar file (RFC 5545), for the calendar programs people already use.

Every check is an all-day event. Its UID is made of batch and kind, so that one that was moved is
moved in the calendar too; SEQUENCE counts up with the changes of the log.
"""

from datetime import timedelta
from typing import Final

from icalendar import Calendar, Event

from app.domain.calendar_feeds import DueCalendar, DueEvent

PRODUCT: Final = "-//Strikewell//due checks//EN"
READ_AGAIN: Final = timedelta(hours=1)
_ONE_DAY: Final = timedelta(days=1)


def write_calendar(due: DueCalendar, *, place: str, base: str) -> bytes:
    """Return the calendar as it is sent.

    `place` ends each UID and is this log's own; addresses of batches begin with `base`.
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", due.name)
    calendar.add("refresh-interval", READ_AGAIN, parameters={"VALUE": "DURATION"})
    for event in due.events:
        calendar.add_component(_component(event, due=due, place=place, base=base))
    return bytes(calendar.to_ical())


def _component(event: DueEvent, *, due: DueCalendar, place: str, base: str) -> Event:
    address = f"{base}/to/{event.code}"
    component = Event()
    component.add("uid", f"{event.key}@{place}")
    component.add("dtstamp", due.changed_at)
    component.add("sequence", due.changes)
    component.add("dtstart", event.due_on)
    component.add("dtend", event.due_on + _ONE_DAY)
    component.add("summary", event.title)
    component.add(
        "description",
        f"{event.stuck:,} stuck on {event.stuck_on.isoformat()}, {event.unrooted:,} unrooted.\n"
        f"{address}",
    )
    if event.benches:
        component.add("location", ", ".join(event.benches))
    component.add("url", address)
    # Looking at a batch keeps nobody from anything else that day.
    component.add("transp", "TRANSPARENT")
    return component
