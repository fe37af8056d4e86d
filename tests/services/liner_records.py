"""Liner lots and their stages, for tests."""

from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.liner_entries import StageEntry
from app.domain.liner_stages import Stage
from app.domain.people import Actor
from app.services.liner_lots import StagesMade, merge_lots, pot_up, record_stage, split_lot
from app.services.liner_stages import record_batch_stage, withdraw_stages
from app.services.verifying import verify_log
from app.store.models.liner_lots import LinerFacts, LinerLot, LinerLotFacts
from app.store.models.lost_causes import LostCause
from tests.conftest import NOW, TODAY
from tests.services.batch_records import days_ago
from tests.services.check_records import Stuck, check, said, stick


def rooted_batch(session: Session, actor: Actor, rooted: int = 80, **more: Any) -> Stuck:
    """Stick 96 cuttings 42 days ago, of which so many were found rooted 14 days ago."""
    batch = stick(session, actor, **more)
    check(session, actor, batch, said(14, rooted))
    return batch


def stage(what: Stage, days: int = 0, **more: Any) -> StageEntry:
    """What was typed for a stage so many days ago."""
    return StageEntry(stage=what, on=days_ago(days), **more)


def pot(session: Session, actor: Actor, batch: Stuck, number: int, days: int = 10) -> int:
    """Pot up so many and return the id of the lot."""
    entry = stage(Stage.POTTED_UP, days, number=number)
    made = pot_up(session, actor=actor, today=TODAY, now=NOW, batch_id=batch.id, entry=entry)
    return lot_id(session, made.lot_code)


def happened(session: Session, actor: Actor, lot: int, entry: StageEntry) -> StagesMade:
    return record_stage(session, actor=actor, today=TODAY, now=NOW, lot_id=lot, entry=entry)


def of_batch(session: Session, actor: Actor, batch: Stuck, entry: StageEntry) -> int:
    return record_batch_stage(
        session, actor=actor, today=TODAY, now=NOW, batch_id=batch.id, entry=entry
    )


def split(session: Session, actor: Actor, lot: int, number: int, days: int = 0) -> int:
    entry = stage(Stage.SPLIT, days, number=number)
    made = split_lot(session, actor=actor, today=TODAY, now=NOW, lot_id=lot, entry=entry)
    return lot_id(session, made.lot_code)


def merge(session: Session, actor: Actor, lots: list[int], days: int = 0) -> int:
    entry = stage(Stage.MERGED, days)
    made = merge_lots(session, actor=actor, today=TODAY, now=NOW, lot_ids=lots, entry=entry)
    return lot_id(session, made.lot_code)


def withdraw(session: Session, actor: Actor, *stages: int, reason: str = "wrong lot") -> None:
    withdraw_stages(
        session, actor=actor, today=TODAY, now=NOW, stage_ids=list(stages), reason=reason
    )


def lot_id(session: Session, code: str) -> int:
    return session.scalars(select(LinerLot.id).where(LinerLot.code == code)).one()


def there(session: Session, lot: int) -> int:
    query = select(LinerLotFacts.number).where(LinerLotFacts.liner_lot_id == lot)
    return session.scalars(query).one()


def lot_row(session: Session, lot: int) -> Any:
    table = LinerLotFacts.__table__
    return session.execute(select(table).where(table.c.liner_lot_id == lot)).one()


def after_rooting(session: Session, batch: Stuck) -> tuple[int, int, int, int]:
    """Taken, ready, lost and growing."""
    table = LinerFacts.__table__
    row = session.execute(select(table).where(table.c.batch_id == batch.id)).one()
    return row.taken, row.ready, row.lost, row.growing


def cause(session: Session, name: str = "grey mould") -> int:
    return session.scalars(select(LostCause.id).where(LostCause.name == name)).one()


def findings(session: Session) -> list[str]:
    session.flush()
    return [f"{found.record}: {found.sentence}" for found in verify_log(session)]
