"""What happens to stock plants: writing it down, withdrawing it, and what follows from it."""

from collections.abc import Iterator
from datetime import date, datetime
from typing import Any, Final

from sqlalchemy import insert, select, update
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.domain.stock_plant_events import (
    EventEntry,
    EventKind,
    PlantFigures,
    Result,
    accepted_event,
    figures_of,
    refuse_event,
    standing_events,
)
from app.domain.stock_plants import StockPlantEntry, StockPlantState
from app.domain.treatments import refuse_foreign_treatment
from app.services.corrections import plain_value
from app.services.history import JsonValue, record_change
from app.store.models.people import Person
from app.store.models.stock_plant_events import StockPlantEvent
from app.store.models.stock_plants import StockPlant
from app.store.queries.stock_plant_events import counting_events

LONGEST_REASON: Final = 500
_FIGURES: Final = tuple(PlantFigures.__dataclass_fields__)
_WRITTEN: Final = {
    EventKind.COUNTED: "stock plant counted",
    EventKind.CUT_BACK: "stock plant cut back",
    EventKind.RENEWED: "stock plant renewed",
    EventKind.RENEWAL: "renewal of a stock plant set",
    EventKind.TESTED: "stock plant tested",
    EventKind.TRUE_TO_TYPE: "stock plant looked at for truth to type",
    EventKind.INSPECTED: "stock plant inspected",
}


def record_event(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    stock_plant_id: int,
    entry: EventEntry,
) -> int:
    """Write down what happened to a stock plant, and return the id of the entry.

    Raises:
        NotAccepted: the entry breaks a rule, or the plant is discarded.
        NotAllowed: it is the head's to write down.
        NotFound: there is no such stock plant.
    """
    plant = session.get(StockPlant, stock_plant_id)
    if plant is None:
        raise NotFound("There is no such stock plant.")
    if plant.state == StockPlantState.DISCARDED:
        raise NotAccepted.at("", f"{plant.code} is discarded: nothing happens to it any more.")
    entry = accepted_event(entry, today=today, came_on=plant.came_on)
    if entry.by_id is not None and session.get(Person, entry.by_id) is None:
        raise NotAccepted.at("by", "Choose one from the list.")
    stand = standing_events(counting_events(session, stock_plant_id=plant.id))
    refuse_event(actor, entry=entry, standing=stand)
    row = StockPlantEvent(
        **_columns(entry), stock_plant_id=plant.id, recorded_by_id=actor.person_id, made_at=now
    )
    session.add(row)
    session.flush()
    changes = refigure(session, stock_plant_id=plant.id)
    _write(session, actor, now, what=_WRITTEN[entry.kind], code=plant.code, change=changes)
    return row.id


def withdraw_event(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    event_id: int,
    reason: str,
) -> None:
    """Take an entry back that was wrong; it stays readable and counts for nothing.

    Raises:
        NotAccepted: no reason is given, it is withdrawn already, or it is the only count.
        NotAllowed: it is somebody else's entry, or an own one of long ago.
        NotFound: there is no such entry.
    """
    row = session.get(StockPlantEvent, event_id)
    if row is None:
        raise NotFound("There is no such entry. Look for it on the page of its stock plant.")
    refuse_foreign_treatment(
        actor, recorded_by_id=row.recorded_by_id, made_on=row.made_at.date(), today=today
    )
    tidy = " ".join(reason.split())
    _refuse_withdrawal(session, row, reason=tidy)
    row.withdrawn_at, row.withdrawn_by_id, row.withdraw_reason = now, actor.person_id, tidy
    row.stands = 0
    session.flush()
    plant = session.get_one(StockPlant, row.stock_plant_id)
    changes = refigure(session, stock_plant_id=plant.id)
    change: dict[str, JsonValue] = {"withdrawn": [False, True], "reason": [None, tidy], **changes}
    what = f"entry of a stock plant ({row.kind}) withdrawn"
    _write(session, actor, now, what=what, code=plant.code, change=change)


def begin_events(
    session: Session,
    *,
    actor: Actor | None,
    today: date,
    now: datetime,
    stock_plant_id: int,
    entry: StockPlantEntry,
) -> None:
    """Write the first entries of a stock plant that was just added, from how it began."""
    usual = {
        "stock_plant_id": stock_plant_id,
        "recorded_by_id": actor.person_id if actor else None,
        "made_at": now,
        "stands": 1,
        "withdraw_reason": "",
        "version": 1,
    }
    began_on = min(entry.came_on or today, today)
    lines = [_columns(line) | usual for line in _beginning(entry, began_on=began_on)]
    session.execute(insert(StockPlantEvent), lines)


def refigure(session: Session, *, stock_plant_id: int) -> dict[str, JsonValue]:
    """Work out anew what follows from a plant's events; return {figure: [before, after]}."""
    events = counting_events(session, stock_plant_id=stock_plant_id)
    table = StockPlantEvent.__table__
    of_plant = table.c.stock_plant_id == stock_plant_id
    stand = [event.id for event in standing_events(events)]
    # Straight to the tables: these marks and figures are worked out, nobody edited a record.
    session.execute(update(table).where(of_plant).values(stands=0))  # type: ignore[arg-type]
    session.execute(update(table).where(table.c.id.in_(stand)).values(stands=1))  # type: ignore[arg-type]
    plant = session.get_one(StockPlant, stock_plant_id)
    figures = figures_of(events)
    after = {name: getattr(figures, name) for name in _FIGURES}
    before = {name: getattr(plant, name) for name in _FIGURES}
    plants = StockPlant.__table__
    session.execute(
        update(plants).where(plants.c.id == stock_plant_id).values(**after)  # type: ignore[arg-type]
    )
    session.expire_all()
    return {
        name: [plain_value(before[name]), plain_value(value)]
        for name, value in after.items()
        if before[name] != value
    }


def _refuse_withdrawal(session: Session, row: StockPlantEvent, *, reason: str) -> None:
    if row.withdrawn_at is not None:
        raise NotAccepted.at("reason", "It is withdrawn already.")
    if not reason:
        raise NotAccepted.at("reason", "Say why it is withdrawn, for whoever reads it.")
    if len(reason) > LONGEST_REASON:
        sentence = f"Shorten this to at most {LONGEST_REASON} characters."
        raise NotAccepted.at("reason", sentence)
    others = select(StockPlantEvent.id).where(
        StockPlantEvent.stock_plant_id == row.stock_plant_id,
        StockPlantEvent.kind == EventKind.COUNTED.value,
        StockPlantEvent.withdrawn_at.is_(None),
        StockPlantEvent.id != row.id,
    )
    if row.kind == EventKind.COUNTED and session.scalar(others.limit(1)) is None:
        sentence = "It is the only number there is: write the right one down first."
        raise NotAccepted.at("reason", sentence)


def _beginning(entry: StockPlantEntry, *, began_on: date) -> Iterator[EventEntry]:
    yield EventEntry(kind=EventKind.COUNTED, happened_on=began_on, plants=entry.plants)
    if entry.cut_back_on is not None:
        yield EventEntry(kind=EventKind.CUT_BACK, happened_on=entry.cut_back_on)
    if entry.renew_by is not None:
        day = min(began_on, entry.renew_by)
        yield EventEntry(kind=EventKind.RENEWAL, happened_on=day, until_on=entry.renew_by)
    if entry.tested_until is not None:
        yield EventEntry(
            kind=EventKind.TESTED,
            happened_on=min(began_on, entry.tested_until),
            result=Result.GOOD,
            until_on=entry.tested_until,
        )
    if entry.true_to_type_on is not None:
        yield EventEntry(
            kind=EventKind.TRUE_TO_TYPE, happened_on=entry.true_to_type_on, result=Result.GOOD
        )


def _columns(entry: EventEntry) -> dict[str, Any]:
    values = {name: getattr(entry, name) for name in EventEntry.__dataclass_fields__}
    return values | {"kind": entry.kind.value, "result": entry.result.value}


def _write(
    session: Session,
    actor: Actor,
    now: datetime,
    *,
    what: str,
    code: str,
    change: dict[str, JsonValue],
) -> None:
    record_change(
        session, actor=actor, now=now, what=what, subject=f"stock plant {code}", change=change
    )
