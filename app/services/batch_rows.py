"""From an entry to the rows of a batch, once everything around it was found to fit."""

from dataclasses import replace
from datetime import date
from typing import Any

from sqlalchemy import insert, select
from sqlalchemy.orm import Session

from app.domain.batch_rules import accept_batch
from app.domain.batches import BatchEntry
from app.domain.days import day_long
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.domain.source_plants import source_problems
from app.services.hormones import keep_hormone
from app.store.models.batches import Batch, BatchSource
from app.store.models.mixes import MixLot
from app.store.queries.batch_entries import STORED_FIELDS
from app.store.queries.source_plants import list_source_plants


def fitting_entry(
    session: Session,
    *,
    entry: BatchEntry,
    actor: Actor,
    today: date,
    stored: BatchEntry | None = None,
    batch_id: int | None = None,
) -> BatchEntry:
    """Return an entry that obeys the rules and fits its records, with the mix of its mix lot.

    `stored` and `batch_id` are those of the batch being corrected: sources it already had are
    not judged again.

    Raises:
        NotAccepted: a rule does not hold, a source may not be cut, the mix lot is of another
            mix, or the batch it is re-stuck from does not fit.
    """
    accept_batch(entry, today=today)
    known = {line.stock_plant_id for line in stored.sources} if stored else set()
    places = {place for place, line in enumerate(entry.sources) if line.stock_plant_id not in known}
    plants = list_source_plants(session, entry=entry, but_batch_id=batch_id)
    problems = tuple(
        source_problems(
            [plant for plant in plants if plant.place in places],
            taken_on=entry.taken_on or entry.stuck_on,
            role=actor.role,
            hold_reason=entry.hold_reason,
        )
    )
    if problems:
        raise NotAccepted(problems)
    if entry.restuck_from_id is not None:
        _refuse_odd_parent(session, entry, parent_id=entry.restuck_from_id, batch_id=batch_id)
    return replace(entry, mix_version_id=_mix_version_id(session, entry))


def batch_columns(session: Session, *, entry: BatchEntry) -> dict[str, Any]:
    """Return the values of the columns of `batches` that an entry says."""
    columns = {field: getattr(entry, field) for field in STORED_FIELDS}
    for field in ("cutting_type", "cut", "section"):
        columns[field] = columns[field].value if columns[field] else ""
    columns["taken_over"] = list(entry.taken_over)
    columns["hormone_id"] = keep_hormone(session, hormone=entry.hormone) if entry.hormone else None
    return columns


def write_sources(session: Session, *, batch_id: int, entry: BatchEntry) -> None:
    """Store the lines of where the cuttings came from, in their order."""
    rows = [
        {
            "batch_id": batch_id,
            "position": position,
            "kind": line.kind.value,
            "stock_plant_id": line.stock_plant_id,
            "supplier": line.supplier,
            "lot": line.lot,
            "passport": line.passport,
            "condition": line.condition,
            "number": line.number,
        }
        for position, line in enumerate(entry.sources, start=1)
    ]
    if rows:
        session.execute(insert(BatchSource), rows)


def _mix_version_id(session: Session, entry: BatchEntry) -> int | None:
    """Return the mix version of an entry; a lot alone brings its own."""
    if entry.mix_lot_id is None:
        return entry.mix_version_id
    of_lot = session.scalar(select(MixLot.mix_version_id).where(MixLot.id == entry.mix_lot_id))
    if of_lot is None or (entry.mix_version_id is not None and entry.mix_version_id != of_lot):
        sentence = "This lot was made up by another recipe: name the lot or the mix, not both."
        raise NotAccepted.at("mix", sentence)
    return of_lot


def _refuse_odd_parent(
    session: Session, entry: BatchEntry, *, parent_id: int, batch_id: int | None
) -> None:
    parent = session.get(Batch, parent_id)
    sentence = ""
    if parent is None or parent_id == batch_id:
        sentence = "Name the batch these cuttings stood in before."
    elif parent.voided_at is not None:
        sentence = f"{parent.code} is void: name another batch, or reinstate it first."
    elif parent.stuck_on > entry.stuck_on:
        sentence = f"{parent.code} was stuck later, on {day_long(parent.stuck_on)}."
    elif parent.stuck < entry.stuck:
        sentence = (
            f"Only {parent.stuck:,} were stuck in {parent.code}, so no more can come from it."
        )
    if sentence:
        raise NotAccepted.at("restuck_from", sentence)
