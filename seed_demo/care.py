"""How the stock plants are looked after: counted, inspected, tested, cut back, looked at."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Final, TypeAlias

from sqlalchemy.orm import Session

from app.domain.stock_plant_events import EventEntry, EventKind, Result
from app.services.stock_plant_events import record_event
from seed_demo.desk import Desk
from seed_demo.places import HEAD

Telling: TypeAlias = Callable[[Session, Desk, datetime], None]

_RED_ROBIN: Final = "Photinia × fraseri 'Red Robin'"
_LAVENDER: Final = "Lavandula angustifolia 'Hidcote'"


def _look_for_type(session: Session, desk: Desk, now: datetime) -> None:
    for row in _kept(desk):
        _record(session, desk, now, row=row, kind=EventKind.TRUE_TO_TYPE, result=Result.GOOD)


def _inspect(session: Session, desk: Desk, now: datetime) -> None:
    for row in _kept(desk)[:6]:
        _record(
            session,
            desk,
            now,
            row=row,
            kind=EventKind.INSPECTED,
            result=Result.GOOD,
            until_on=now.date() + timedelta(days=28),
        )


def _test_some(session: Session, desk: Desk, now: datetime) -> None:
    for row in _kept(desk)[:3]:
        _record(
            session,
            desk,
            now,
            row=row,
            kind=EventKind.TESTED,
            about="Phytophthora",
            result=Result.GOOD,
            until_on=now.date() + timedelta(days=365),
        )


def _cut_back(session: Session, desk: Desk, now: datetime) -> None:
    _record(session, desk, now, row=(_LAVENDER, 1), kind=EventKind.CUT_BACK)


def _count_after_frost(session: Session, desk: Desk, now: datetime) -> None:
    row = (_LAVENDER, 1)
    left = max(1, desk.stock_entries[row].plants - 2)
    note = "two dead after the frost"
    _record(session, desk, now, row=row, kind=EventKind.COUNTED, plants=left, note=note)


def _watch_red_robin(session: Session, desk: Desk, now: datetime) -> None:
    _record(
        session,
        desk,
        now,
        row=(_RED_ROBIN, 2),
        kind=EventKind.INSPECTED,
        result=Result.DOUBT,
        finding="leaf spot on the lower leaves",
        until_on=now.date() + timedelta(days=43),
    )


def _kept(desk: Desk) -> list[tuple[str, int]]:
    return sorted(set(desk.known.stock_plants) - desk.out_of_use)


def _record(
    session: Session,
    desk: Desk,
    now: datetime,
    *,
    row: tuple[str, int],
    kind: EventKind,
    **more: object,
) -> None:
    head = desk.actors[HEAD.name]
    entry = EventEntry(kind=kind, happened_on=now.date(), by_id=head.person_id, **more)  # type: ignore[arg-type]
    record_event(
        session,
        actor=head,
        today=now.date(),
        now=now,
        stock_plant_id=desk.known.stock_plants[row],
        entry=entry,
    )


STOCK_PLANT_CARE: Final[tuple[tuple[int, Telling], ...]] = (
    (350, _test_some),
    (300, _count_after_frost),
    (240, _look_for_type),
    (230, _cut_back),
    (45, _watch_red_robin),
    (25, _inspect),
)
"""What is done to the stock plants, by the days before today."""
