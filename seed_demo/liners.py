"""What became of rooted cuttings of the invented nursery: potted up, grown on, sold as liners."""

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.dispatches import DispatchEntry, SentLine
from app.domain.liner_entries import StageEntry
from app.domain.liner_stages import Stage
from app.domain.people import Actor
from app.services.dispatches import send_out
from app.services.liner_lots import merge_lots, pot_up, record_stage
from app.services.liner_stages import record_batch_stage
from app.store.models.batches import Batch, BatchFacts
from app.store.models.liner_lots import LinerLot
from app.store.models.lost_causes import LostCause
from app.store.queries.liner_lots import LotsIn, LotsWanted, find_liner_lot_id, list_liner_lots
from app.store.session import Database
from seed_demo.desk import Desk, instant
from seed_demo.places import BENCHES, HEAD, TRAINEE

_BATCHES: Final = 26
_LEAST_ROOTED: Final = 20
# Days after the last count, and shares lost: invented.
_POTTED_AFTER: Final = (5, 16)
_READY_AFTER: Final = (70, 130)
_LOSSES: Final = (0.0, 0.12)
_KEPT: Final = 6
# Who takes liners of the invented nursery: invented too.
_TAKERS: Final = ("Hollin Lane stall", "Ottery and Daughter", "the walled garden at Pennick")


@dataclass(frozen=True, kw_only=True)
class _Rooted:
    """A finished batch with so many rooted ones, counted a last time on a day."""

    batch_id: int
    code: str
    rooted: int
    counted_on: date


def tell_liners(database: Database, desk: Desk) -> None:
    """Pot up the rooted ones of some finished batches, and let them grow on up to today."""
    with database.writing() as session:
        cause = session.scalars(select(LostCause.id).where(LostCause.name == "dried out")).one()
        for place, batch in enumerate(_rooted_batches(session, desk)):
            dice = Random(f"{desk.seed}/liners/{batch.code}")
            _tell(session, desk, batch, place=place, cause=cause, dice=dice)
        _merge_two(session, desk)
        _keep_some(session, desk)


def _rooted_batches(session: Session, desk: Desk) -> list[_Rooted]:
    query = (
        select(BatchFacts.batch_id, Batch.code, BatchFacts.rooted, BatchFacts.counted_on)
        .join(Batch, Batch.id == BatchFacts.batch_id)
        .where(
            BatchFacts.open == 0,
            BatchFacts.voided == 0,
            BatchFacts.rooted >= _LEAST_ROOTED,
            BatchFacts.counted_on < desk.today - timedelta(days=_POTTED_AFTER[1]),
        )
        .order_by(BatchFacts.counted_on.desc(), Batch.id)
    )
    rows = session.execute(query).all()
    # Some of every age: a new batch to be potted up, others long sent out.
    step = max(1, len(rows) // _BATCHES)
    return [_Rooted(**row._mapping) for row in rows[1::step][:_BATCHES]]


def _tell(
    session: Session, desk: Desk, batch: _Rooted, *, place: int, cause: int, dice: Random
) -> None:
    trainee = desk.writer(TRAINEE)
    potted_on = batch.counted_on + timedelta(days=dice.randint(*_POTTED_AFTER))
    few = dice.randint(0, 2)
    weaned_on = batch.counted_on + timedelta(days=2)
    kept = {"actor": trainee, "today": desk.today, "batch_id": batch.batch_id}
    weaning = StageEntry(stage=Stage.WEANING, on=weaned_on)
    record_batch_stage(session, **kept, now=instant(weaned_on, 15), entry=weaning)  # type: ignore[arg-type]
    if few:
        lost = StageEntry(stage=Stage.LOST, on=potted_on, number=few, cause_id=cause)
        record_batch_stage(session, **kept, now=instant(potted_on, 9), entry=lost)  # type: ignore[arg-type]
    number = batch.rooted - few
    entry = StageEntry(
        stage=Stage.POTTED_UP,
        on=potted_on,
        number=number,
        bench_id=desk.known.benches[BENCHES[-1 - place % 2].name],
        trays=max(1, number // 18),
        person_id=trainee.person_id,
    )
    made = pot_up(session, **kept, now=instant(potted_on, 10), entry=entry)  # type: ignore[arg-type]
    lot_id = find_liner_lot_id(session, code=made.lot_code) or 0
    _grow(session, desk, lot_id, number=number, since=potted_on, cause=cause, dice=dice)


def _grow(
    session: Session,
    desk: Desk,
    lot_id: int,
    *,
    number: int,
    since: date,
    cause: int,
    dice: Random,
) -> None:
    """Let a lot be pinched, lose some, be graded, be ready and be sent out, as far as it is."""
    lost = round(number * dice.uniform(*_LOSSES))
    small = dice.randint(0, 2)
    ready_after = dice.randint(*_READY_AFTER)
    left = number - lost - small
    story = [
        (30, StageEntry(stage=Stage.PINCHED, on=since)),
        (45, StageEntry(stage=Stage.LOST, on=since, number=lost, cause_id=cause)),
        (
            ready_after,
            StageEntry(stage=Stage.GRADED_OUT, on=since, number=small, grade="too small"),
        ),
        (ready_after, StageEntry(stage=Stage.READY, on=since)),
        (ready_after + 20, StageEntry(stage=Stage.SENT_OUT, on=since, number=left * 2 // 3)),
        (ready_after + 60, StageEntry(stage=Stage.SENT_OUT, on=since, number=left - left * 2 // 3)),
    ]
    for after, entry in story:
        day = since + timedelta(days=after)
        if day > desk.today or entry.number == 0:
            continue
        told = _on(entry, day=day)
        actor = desk.writer(HEAD if entry.stage is Stage.READY else TRAINEE)
        _record(session, actor, lot_id, told)


def _on(entry: StageEntry, *, day: date) -> StageEntry:
    return StageEntry(
        stage=entry.stage,
        on=day,
        number=entry.number,
        cause_id=entry.cause_id,
        grade=entry.grade,
    )


def _record(session: Session, actor: Actor, lot_id: int, entry: StageEntry) -> None:
    now = instant(entry.on, 14)
    if entry.stage is Stage.SENT_OUT:
        _send(session, actor, lot_id, entry)
        return
    record_stage(session, actor=actor, today=entry.on, now=now, lot_id=lot_id, entry=entry)


def _send(session: Session, actor: Actor, lot_id: int, entry: StageEntry) -> None:
    """Send plants of a lot out to one of a few who take them."""
    code = session.get_one(LinerLot, lot_id).code
    sent = DispatchEntry(
        sent_on=entry.on,
        to_name=_TAKERS[lot_id % len(_TAKERS)],
        reference=f"Q{entry.on:%y%m}-{lot_id}",
        lines=(SentLine(code=code, number=entry.number or 1),),
    )
    send_out(session, actor=actor, today=entry.on, now=instant(entry.on, 14), entry=sent)


def _keep_some(session: Session, desk: Desk) -> None:
    """Keep a few of one lot as stock plants, so that a line goes on."""
    lots = list_liner_lots(session, wanted=LotsWanted(which=LotsIn.GROWING))
    lot = next((lot for lot in lots if lot.standing.number > _KEPT), None)
    if lot is not None:
        entry = StageEntry(
            stage=Stage.KEPT, on=desk.today - timedelta(days=1), number=_KEPT, bench_id=lot.bench_id
        )
        _record(session, desk.writer(HEAD), lot.id, entry)


def _merge_two(session: Session, desk: Desk) -> None:
    """Merge two ready lots of one plant for sale, where there are such."""
    by_plant: dict[int, list[int]] = {}
    for lot in list_liner_lots(session, wanted=LotsWanted(which=LotsIn.READY)):
        by_plant.setdefault(lot.plant_name_id, []).append(lot.id)
    pair = next((lots[:2] for lots in by_plant.values() if len(lots) > 1), None)
    if pair is not None:
        entry = StageEntry(stage=Stage.MERGED, on=desk.today)
        merge_lots(
            session,
            actor=desk.writer(HEAD),
            today=desk.today,
            now=instant(desk.today, 8),
            lot_ids=pair,
            entry=entry,
        )
