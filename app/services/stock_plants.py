"""Stock plants: adding, correcting, discarding and taking that back."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.codes import stock_plant_code
from app.domain.days import day_long
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.domain.stock_plant_events import FIGURES
from app.domain.stock_plants import (
    StockPlantEntry,
    StockPlantState,
    accepted_stock_plant,
)
from app.services.corrections import NamedColumn, correct_row, named_changes, refuse_stale
from app.services.held_things import held_of_stock_plant, refuse_held_batch, refuse_other_state
from app.services.history import JsonValue, record_change
from app.services.lines import refuse_looped_stock_plant
from app.services.stock_plant_events import begin_events
from app.services.stock_plant_stays import end_stock_plant_stay, stand_stock_plant
from app.store.models.batches import Batch
from app.store.models.benches import Bench
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant
from app.store.queries.stock_plants import last_cut_on

_COLUMNS: Final = tuple(StockPlantEntry.__dataclass_fields__)
_BY_EVENTS: Final = frozenset(FIGURES)
_BY_NAME: Final = {
    "plant_name_id": NamedColumn(field="plant", model=PlantNameRow, label="plain"),
    "bench_id": NamedColumn(field="bench", model=Bench, label="name"),
    "raised_from_id": NamedColumn(field="raised_from", model=Batch, label="code"),
}


@dataclass(frozen=True, kw_only=True)
class AddedStockPlant:
    """A stock plant as the program knows it from now on."""

    id: int
    code: str


def add_stock_plant(
    session: Session, *, actor: Actor | None, today: date, now: datetime, entry: StockPlantEntry
) -> AddedStockPlant:
    """Add a stock plant, give it the next code and return both. A code is never given twice.

    Raises:
        NotAccepted: the entry breaks a rule, or leans on a record that does not fit.
    """
    newest = session.scalar(select(func.max(StockPlant.number))) or 0
    return _add(session, actor=actor, today=today, now=now, entry=entry, number=newest + 1)


def keep_stock_plant(
    session: Session,
    *,
    actor: Actor | None,
    today: date,
    now: datetime,
    number: int,
    plant_name_id: int,
) -> int:
    """Return the id of the stock plant of this number, adding it under that very code if new.

    For records that come from elsewhere with codes of their own; the next code given by the
    program is then above it.
    """
    found = session.scalar(select(StockPlant.id).where(StockPlant.number == number))
    if found is not None:
        return found
    entry = StockPlantEntry(plant_name_id=plant_name_id)
    return _add(session, actor=actor, today=today, now=now, entry=entry, number=number).id


def correct_stock_plant(
    session: Session,
    *,
    actor: Actor | None,
    today: date,
    now: datetime,
    stock_plant_id: int,
    version: int,
    entry: StockPlantEntry,
) -> None:
    """Correct what was entered of a stock plant; on another bench it stands there from today.

    What follows from its events (how many plants, tested until, and so on) is left as it is.

    Raises:
        NotAccepted: the entry breaks a rule, leans on a record that does not fit or was taken
            from this very plant, or the plant is discarded.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such stock plant.
    """
    row = _row(session, stock_plant_id)
    if row.state == StockPlantState.DISCARDED:
        raise NotAccepted.at("", f"{row.code} is discarded: take that back before you correct it.")
    entry = _fitting(session, entry, today=today, before=row)
    refuse_other_state(session, row=row, entry=entry)
    after = {name: value for name, value in _values(entry).items() if name not in _BY_EVENTS}
    told = named_changes(session, row=row, after=after, named=_BY_NAME)
    refuse_stale(row, version=version, changes=told)
    changes = correct_row(row, version=version, after=after)
    if not changes:
        return
    session.flush()
    if "bench_id" in changes:
        stand_stock_plant(session, stock_plant_id=row.id, bench_id=entry.bench_id, from_on=today)
    _write(session, actor, now, "stock plant corrected", row.code, told)


def discard_stock_plant(
    session: Session,
    *,
    actor: Actor,
    now: datetime,
    today: date,
    stock_plant_id: int,
    version: int,
    discarded_on: date,
    reason: str,
) -> None:
    """Discard a stock plant; it stays readable, and nothing is taken from it after that day.

    Raises:
        NotAccepted: no reason, a day to come or before the last cut, or it is discarded already.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such stock plant.
    """
    row = _row(session, stock_plant_id)
    tidy = " ".join(reason.split())
    _refuse_discard(session, row, discarded_on=discarded_on, reason=tidy, today=today)
    after = {
        "state": str(StockPlantState.DISCARDED),
        "state_reason": tidy,
        "discarded_on": discarded_on,
    }
    changes = correct_row(row, version=version, after=after)
    session.flush()
    end_stock_plant_stay(session, stock_plant_id=row.id, to_on=discarded_on)
    _write(session, actor, now, "stock plant discarded", row.code, changes)


def reinstate_stock_plant(
    session: Session, *, actor: Actor, today: date, now: datetime, stock_plant_id: int
) -> None:
    """Take back that a stock plant was discarded: it is watched until somebody has looked.

    One that a hold holds is on hold again.

    Raises:
        NotAccepted: it is not discarded.
        NotFound: there is no such stock plant.
    """
    row = _row(session, stock_plant_id)
    if row.state != StockPlantState.DISCARDED:
        raise NotAccepted.at("", f"{row.code} is not discarded.")
    held = held_of_stock_plant(session, stock_plant_id=row.id)
    after = {
        "state": str(StockPlantState.ON_HOLD if held else StockPlantState.WATCHED),
        "state_reason": held[0] if held else "",
        "discarded_on": None,
    }
    changes = correct_row(row, version=row.version, after=after)
    session.flush()
    stand_stock_plant(session, stock_plant_id=row.id, bench_id=row.bench_id, from_on=today)
    _write(session, actor, now, "stock plant kept after all", row.code, changes)


def _add(
    session: Session,
    *,
    actor: Actor | None,
    today: date,
    now: datetime,
    entry: StockPlantEntry,
    number: int,
) -> AddedStockPlant:
    entry = _fitting(session, entry, today=today, before=None)
    row = StockPlant(**_values(entry), number=number, code=stock_plant_code(number))
    session.add(row)
    session.flush()
    begin_events(session, actor=actor, today=today, now=now, stock_plant_id=row.id, entry=entry)
    if entry.bench_id is not None:
        stand_stock_plant(
            session,
            stock_plant_id=row.id,
            bench_id=entry.bench_id,
            from_on=entry.came_on or today,
        )
    _write(session, actor, now, "stock plant added", row.code, {})
    return AddedStockPlant(id=row.id, code=row.code)


def _fitting(
    session: Session, entry: StockPlantEntry, *, today: date, before: StockPlant | None
) -> StockPlantEntry:
    """Return an entry that obeys the rules and whose records are there and in use."""
    entry = accepted_stock_plant(entry, today=today)
    if session.get(PlantNameRow, entry.plant_name_id) is None:
        raise NotAccepted.at("plant", "Choose its plant name again: this one is not in the list.")
    if entry.bench_id is not None and entry.bench_id != (before.bench_id if before else None):
        bench = session.get(Bench, entry.bench_id)
        if bench is None or bench.closed_at is not None:
            raise NotAccepted.at("bench", "Choose a bench that is in use.")
    if entry.raised_from_id is not None:
        batch = session.get(Batch, entry.raised_from_id)
        if batch is None or batch.voided_at is not None:
            raise NotAccepted.at("raised_from", "Give the code of a batch that is not void.")
        if entry.came_on is not None and entry.came_on < batch.stuck_on:
            sentence = f"{batch.code} was stuck on {day_long(batch.stuck_on)}, after this day."
            raise NotAccepted.at("came_on", sentence)
        _refuse_odd_batch(session, batch_id=batch.id, before=before)
    return entry


def _refuse_odd_batch(session: Session, *, batch_id: int, before: StockPlant | None) -> None:
    """Refuse a batch that is on hold, or that was taken from this very stock plant."""
    if before is not None:
        refuse_looped_stock_plant(session, stock_plant_id=before.id, batch_id=batch_id)
    if before is None or before.raised_from_id != batch_id:
        doing = "keep stock plants of it"
        refuse_held_batch(session, batch_id=batch_id, doing=doing, field="raised_from")


def _refuse_discard(
    session: Session, row: StockPlant, *, discarded_on: date, reason: str, today: date
) -> None:
    if row.state == StockPlantState.DISCARDED:
        raise NotAccepted.at("", f"{row.code} is discarded already.")
    if not reason:
        raise NotAccepted.at("reason", "Say why it is discarded, for whoever looks for it.")
    if discarded_on > today:
        raise NotAccepted.at("discarded_on", "This day is still to come: give one up to today.")
    cut_on = last_cut_on(session, stock_plant_id=row.id)
    if cut_on is not None and discarded_on < cut_on:
        sentence = f"Cuttings were taken from it on {day_long(cut_on)}: give that day or a later."
        raise NotAccepted.at("discarded_on", sentence)


def _values(entry: StockPlantEntry) -> dict[str, Any]:
    values = {column: getattr(entry, column) for column in _COLUMNS}
    return values | {"state": str(entry.state), "origin": str(entry.origin)}


def _row(session: Session, stock_plant_id: int) -> StockPlant:
    row = session.get(StockPlant, stock_plant_id)
    if row is None:
        raise NotFound("There is no such stock plant.")
    return row


def _write(
    session: Session,
    actor: Actor | None,
    now: datetime,
    what: str,
    code: str,
    change: dict[str, JsonValue],
) -> None:
    record_change(
        session, actor=actor, now=now, what=what, subject=f"stock plant {code}", change=change
    )
