"""From an entry to the rows of a batch, once everything around it was found to fit."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import insert, select
from sqlalchemy.orm import Session

from app.domain.batch_rules import SOURCE_WORDS, accept_batch
from app.domain.batches import BatchEntry
from app.domain.people import Actor, Role
from app.domain.plant_rights import rights_problems
from app.domain.problems import NotAccepted, Problem
from app.domain.source_plants import Moment, source_problems
from app.services.held_things import refuse_held_batch
from app.services.hormones import keep_hormone
from app.services.lines import refuse_looped_batch
from app.services.restuck import Taken, make_room
from app.store.models.batches import BatchSource
from app.store.models.meta import Meta
from app.store.models.mixes import MixLot, MixLotMeasures, MixVersion
from app.store.models.plant_names import PlantNameRow
from app.store.queries.batch_entries import STORED_FIELDS
from app.store.queries.source_plants import list_source_plants


def fitting_entry(
    session: Session,
    *,
    entry: BatchEntry,
    actor: Actor,
    today: date,
    now: datetime,
    stored: BatchEntry | None = None,
    batch_id: int | None = None,
) -> BatchEntry:
    """Return an entry that obeys the rules and fits its records, with the mix of its mix lot.

    `stored` and `batch_id` are those of the batch being corrected: sources it already had, and
    the plant name it bore, are not judged again.

    Raises:
        NotAccepted: a rule does not hold, a source may not be cut or itself comes from the batch,
            a licence is missing, the mix lot is of another mix, or the batch it is re-stuck from
            does not fit.
    """
    accept_batch(entry, today=today)
    places = _new_places(entry, stored=stored)
    plants = list_source_plants(session, entry=entry, but_batch_id=batch_id)
    zone = session.scalars(select(Meta.zone)).one()
    barred = source_problems(
        [plant for plant in plants if plant.place in places],
        taken_on=entry.taken_on or entry.stuck_on,
        role=actor.role,
        hold_reason=entry.hold_reason,
        moment=Moment(now=now, today=today, zone=zone),
    )
    unlicensed = _rights_problems(session, entry=entry, role=actor.role, stored=stored)
    if problems := (*unlicensed, *barred):
        raise NotAccepted(problems)
    _refuse_held_parent(session, entry=entry, stored=stored)
    if batch_id is not None:
        refuse_looped_batch(session, batch_id=batch_id, entry=entry)
    make_room(session, taken=taken_by(entry), batch_id=batch_id)
    return _with_mix_of_lot(session, entry)


def _refuse_held_parent(session: Session, *, entry: BatchEntry, stored: BatchEntry | None) -> None:
    parent_id = entry.restuck_from_id
    if parent_id is not None and parent_id != (stored.restuck_from_id if stored else None):
        refuse_held_batch(
            session, batch_id=parent_id, doing="re-stick from it", field="restuck_from"
        )


def _new_places(entry: BatchEntry, *, stored: BatchEntry | None) -> set[int]:
    """Return the places of the sources that a stored batch does not have already."""
    known = {line.stock_plant_id for line in stored.sources} if stored else set()
    return {place for place, line in enumerate(entry.sources) if line.stock_plant_id not in known}


def _rights_problems(
    session: Session, *, entry: BatchEntry, role: Role, stored: BatchEntry | None
) -> Iterator[Problem]:
    name = session.get(PlantNameRow, entry.plant_name_id)
    if name is None or (stored is not None and stored.plant_name_id == entry.plant_name_id):
        return
    yield from rights_problems(
        grant=name.rights_grant,
        licence=name.rights_licence,
        until=name.rights_until,
        on=entry.stuck_on,
        role=role,
        reason=entry.rights_reason,
    )


def taken_by(entry: BatchEntry) -> Taken:
    """Return what a batch takes out of the one it is re-stuck from."""
    return Taken(from_id=entry.restuck_from_id, on=entry.stuck_on, number=entry.stuck)


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
            **{name: getattr(line, name) for name in SOURCE_WORDS},
            "number": line.number,
        }
        for position, line in enumerate(entry.sources, start=1)
    ]
    if rows:
        session.execute(insert(BatchSource), rows)


def _with_mix_of_lot(session: Session, entry: BatchEntry) -> BatchEntry:
    """Return the entry with the recipe its lot was made up by; the lot decides.

    A mix that the method card filled in gives way to it; one that was chosen must be the lot's.
    """
    if entry.mix_lot_id is None:
        return entry
    query = (
        select(MixLot.mix_version_id, MixVersion.mix_id, MixLot.code, MixLotMeasures.voided_at)
        .join(MixVersion, MixVersion.id == MixLot.mix_version_id)
        .outerjoin(MixLotMeasures, MixLotMeasures.mix_lot_id == MixLot.id)
        .where(MixLot.id == entry.mix_lot_id)
    )
    lot = session.execute(query).one_or_none()
    if lot is None or lot.voided_at is not None:
        raise NotAccepted.at("mix_lot", "This lot is not in use: name another, or none.")
    chosen = "mix" not in entry.taken_over
    named = select(MixVersion.mix_id).where(MixVersion.id == entry.mix_version_id)
    if chosen and entry.mix_version_id is not None and session.scalar(named) != lot.mix_id:
        sentence = f"{lot.code} was made up by another recipe: name the lot or the mix, not both."
        raise NotAccepted.at("mix", sentence)
    taken_over = tuple(field for field in entry.taken_over if field != "mix")
    return replace(entry, mix_version_id=lot.mix_version_id, taken_over=taken_over)
