"""Liner lots: potting up, stages of a lot, splitting and merging lots, their trays and notes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.codes import liner_lot_code
from app.domain.liner_entries import LONGEST_NOTE, MOST_TRAYS, StageEntry, accepted_stage
from app.domain.liner_stages import PARTLY, Stage
from app.domain.people import Actor
from app.domain.permissions import Permission, allowed
from app.domain.problems import NotAccepted
from app.domain.stock_plants import Origin, StockPlantEntry
from app.services.corrections import correct_row
from app.services.held_things import refuse_held_lot
from app.services.history import record_change
from app.services.liner_stages import get_lot_row, keep_stages, open_batch, stage_row
from app.services.stock_plants import add_stock_plant
from app.store.models.batches import Batch
from app.store.models.benches import BenchStay
from app.store.models.liner_lots import LinerLot, LinerLotFacts

MOST_MERGED: Final = 50


@dataclass(frozen=True, kw_only=True)
class StagesMade:
    """What an entry made: the lot it is about now, and its stages, for taking them back."""

    lot_code: str
    stage_ids: tuple[int, ...]
    stock_plant_code: str = ""


def pot_up(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    batch_id: int,
    entry: StageEntry,
) -> StagesMade:
    """Pot up rooted ones of a batch as a liner lot with the next code.

    Raises:
        NotAccepted: a rule does not hold, or fewer rooted ones were left that day.
        NotFound: there is no such batch.
    """
    batch = open_batch(session, batch_id=batch_id)
    entry = accepted_stage(replace(entry, stage=Stage.POTTED_UP), today=today)
    lot = _new_lot(session, entry, batch_id=batch.id)
    row = stage_row(
        session, actor=actor, now=now, entry=entry, batch_id=batch.id, into_lot_id=lot.id
    )
    ids = keep_stages(session, actor=actor, now=now, rows=[row])
    return StagesMade(lot_code=lot.code, stage_ids=ids)


def record_stage(
    session: Session, *, actor: Actor, today: date, now: datetime, lot_id: int, entry: StageEntry
) -> StagesMade:
    """Write down what happened to a lot, or to some of it, which then are a lot of their own.

    Raises:
        NotAccepted: a rule does not hold, fewer were in it that day, or a later stage would no
            longer add up.
        NotFound: there is no such lot.
    """
    lot = get_lot_row(session, lot_id=lot_id)
    if entry.stage in {Stage.WEANING, Stage.POTTED_UP, Stage.SPLIT, Stage.MERGED}:
        raise NotAccepted.at("stage", "Choose one from the list.")
    if entry.stage is Stage.KEPT and not allowed(actor.role, Permission.KEEP_REGISTERS):
        raise NotAccepted.at("stage", "Ask the head propagator to keep them as stock plants.")
    entry = accepted_stage(entry, today=today)
    if entry.stage is Stage.SENT_OUT:
        refuse_held_lot(session, lot_id=lot.id, doing="send plants out", field="number")
    split: tuple[int, ...] = ()
    if entry.stage in PARTLY and entry.number is not None and entry.number != _there(session, lot):
        parted = replace(entry, stage=Stage.SPLIT, notes="")
        made = split_lot(session, actor=actor, today=today, now=now, lot_id=lot.id, entry=parted)
        split, lot = made.stage_ids, _lot_of_code(session, made.lot_code)
    row = stage_row(session, actor=actor, now=now, entry=entry, liner_lot_id=lot.id)
    ids = keep_stages(session, actor=actor, now=now, rows=[row])
    plant = ""
    if entry.stage is Stage.KEPT:
        kept = add_stock_plant(
            session, actor=actor, today=today, now=now, entry=_stock_plant(session, lot, entry)
        )
        row.stock_plant_id, plant = kept.id, kept.code
        session.flush()
    return StagesMade(lot_code=lot.code, stage_ids=(*split, *ids), stock_plant_code=plant)


def split_lot(
    session: Session, *, actor: Actor, today: date, now: datetime, lot_id: int, entry: StageEntry
) -> StagesMade:
    """Let some of a lot be a lot of their own from a day on, ready if the first one was.

    Raises:
        NotAccepted: the day or number does not fit.
        NotFound: there is no such lot.
    """
    lot = get_lot_row(session, lot_id=lot_id)
    entry = accepted_stage(replace(entry, stage=Stage.SPLIT), today=today)
    bench_id = entry.bench_id or _bench_now(session, lot.id)
    new = _new_lot(
        session,
        replace(entry, bench_id=bench_id),
        batch_id=lot.batch_id,
        plant_name_id=lot.plant_name_id,
    )
    row = stage_row(
        session, actor=actor, now=now, entry=entry, liner_lot_id=lot.id, into_lot_id=new.id
    )
    ids = keep_stages(session, actor=actor, now=now, rows=[row])
    return StagesMade(lot_code=new.code, stage_ids=ids)


def merge_lots(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    lot_ids: Sequence[int],
    entry: StageEntry,
) -> StagesMade:
    """Let ready lots of one plant be one lot from a day on; each goes into it whole.

    Raises:
        NotAccepted: fewer than two, lots of different plants, one is not ready or empty.
        NotFound: there is no such lot.
    """
    lots = [get_lot_row(session, lot_id=one) for one in dict.fromkeys(lot_ids)]
    numbers = {lot.id: _there(session, lot) for lot in lots}
    plant_name_id = _plant_of_all(session, lots, numbers=numbers)
    entry = accepted_stage(replace(entry, stage=Stage.MERGED, number=1), today=today)
    new = _new_lot(session, entry, plant_name_id=plant_name_id)
    rows = [
        stage_row(
            session,
            actor=actor,
            now=now,
            entry=replace(entry, number=numbers[lot.id]),
            liner_lot_id=lot.id,
            into_lot_id=new.id,
        )
        for lot in lots
    ]
    ids = keep_stages(session, actor=actor, now=now, rows=rows)
    return StagesMade(lot_code=new.code, stage_ids=ids)


def correct_lot(
    session: Session,
    *,
    actor: Actor,
    now: datetime,
    lot_id: int,
    version: int,
    trays: int | None,
    notes: str,
) -> None:
    """Put right how many trays a lot stands in, and its notes.

    Raises:
        NotAccepted: so many trays cannot be, or the notes are too long.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such lot.
    """
    row = get_lot_row(session, lot_id=lot_id)
    if trays is not None and not 1 <= trays <= MOST_TRAYS:
        raise NotAccepted.at("trays", f"Give trays from 1 to {MOST_TRAYS:,}.")
    if len(notes.strip()) > LONGEST_NOTE:
        raise NotAccepted.at("notes", f"Keep the notes within {LONGEST_NOTE:,} letters.")
    changes = correct_row(row, version=version, after={"trays": trays, "notes": notes.strip()})
    if not changes:
        return
    session.flush()
    record_change(
        session,
        actor=actor,
        now=now,
        what="liner lot corrected",
        subject=f"liner lot {row.code}",
        change=changes,
    )


def _new_lot(
    session: Session,
    entry: StageEntry,
    *,
    batch_id: int | None = None,
    plant_name_id: int | None = None,
) -> LinerLot:
    newest = session.scalar(select(func.max(LinerLot.running_number))) or 0
    lot = LinerLot(
        running_number=newest + 1,
        code=liner_lot_code(newest + 1),
        batch_id=batch_id,
        plant_name_id=plant_name_id,
        trays=entry.trays,
    )
    session.add(lot)
    session.flush()
    if entry.bench_id is not None:
        session.add(BenchStay(liner_lot_id=lot.id, bench_id=entry.bench_id, from_on=entry.on))
    return lot


def _there(session: Session, lot: LinerLot) -> int:
    facts = session.execute(
        select(LinerLotFacts.number).where(LinerLotFacts.liner_lot_id == lot.id)
    ).scalar()
    return facts or 0


def _bench_now(session: Session, lot_id: int) -> int | None:
    query = select(BenchStay.bench_id).where(
        BenchStay.liner_lot_id == lot_id, BenchStay.to_on.is_(None)
    )
    return session.scalar(query.order_by(BenchStay.id.desc()).limit(1))


def _lot_of_code(session: Session, code: str) -> LinerLot:
    return session.scalars(select(LinerLot).where(LinerLot.code == code)).one()


def _plant_name_id(session: Session, lot: LinerLot) -> int:
    if lot.batch_id is None:
        return lot.plant_name_id or 0
    return session.get_one(Batch, lot.batch_id).plant_name_id


def _plant_of_all(session: Session, lots: Sequence[LinerLot], *, numbers: Mapping[int, int]) -> int:
    plants = {_plant_name_id(session, lot) for lot in lots}
    if not 2 <= len(lots) <= MOST_MERGED:
        raise NotAccepted.at("lots", f"Choose from 2 to {MOST_MERGED} lots to be one.")
    if len(plants) > 1:
        raise NotAccepted.at("lots", "Only lots of one plant name can be one.")
    for lot in lots:
        if not numbers[lot.id]:
            raise NotAccepted.at("lots", f"{lot.code} has no plants in it.")
    return plants.pop()


def _stock_plant(session: Session, lot: LinerLot, entry: StageEntry) -> StockPlantEntry:
    return StockPlantEntry(
        plant_name_id=_plant_name_id(session, lot),
        plants=entry.number or 1,
        bench_id=entry.bench_id,
        origin=Origin.RAISED_HERE,
        raised_from_id=lot.batch_id,
        came_on=entry.on,
        notes=f"Kept from liner lot {lot.code}.",
    )
