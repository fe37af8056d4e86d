"""Batches to check, and checks of them, for tests."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.check_entries import CheckEntry
from app.domain.outcomes import Loss
from app.domain.people import Actor
from app.services.batches import stick_batch
from app.services.checks import RecordedCheck, correct_check, record_check
from app.services.lost_causes import load_starting_lost_causes
from app.store.models.batches import BatchFacts
from app.store.models.lost_causes import LostCause
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant, days_ago, entry


@dataclass(frozen=True, kw_only=True)
class Stuck:
    """A batch that was stuck for a test."""

    id: int
    code: str


def stick(session: Session, actor: Actor, *, plant: int | None = None, **more: Any) -> Stuck:
    """Stick 96 cuttings 42 days ago, unless told otherwise."""
    if session.scalar(select(LostCause.id).limit(1)) is None:
        load_starting_lost_causes(session)
    said = entry(plant or add_plant(session), **({"stuck_on": days_ago(42)} | more))
    stuck = stick_batch(session, actor=actor, today=TODAY, now=NOW, entry=said)
    return Stuck(id=stuck.id, code=stuck.code)


def lost(number: int, cause: str = "basal rot") -> tuple[Loss, ...]:
    return (Loss(cause=cause, number=number),)


def said(days: int, rooted: int = 0, **more: Any) -> CheckEntry:
    """What was typed for a check so many days ago."""
    return CheckEntry(checked_on=days_ago(days), rooted=rooted, **more)


def check(session: Session, actor: Actor, batch: Stuck, entry: CheckEntry) -> RecordedCheck:
    return record_check(session, actor=actor, today=TODAY, now=NOW, batch_id=batch.id, entry=entry)


def correct(
    session: Session,
    actor: Actor,
    stored: RecordedCheck,
    entry: CheckEntry,
    *,
    version: int | None = None,
    reason: str = "miscounted",
) -> RecordedCheck:
    return correct_check(
        session,
        actor=actor,
        today=TODAY,
        now=NOW,
        check_id=stored.check_id,
        version=version or stored.version,
        entry=entry,
        reason=reason,
    )


def facts(session: Session, batch: Stuck) -> Any:
    query = select(BatchFacts.__table__).where(BatchFacts.batch_id == batch.id)
    return session.execute(query).one()


def totals(session: Session, batch: Stuck) -> tuple[int, int, int, int, int]:
    """Rooted, lost, dumped, cleared unrooted, unrooted."""
    row = facts(session, batch)
    return row.rooted, row.lost, row.dumped, row.cleared_unrooted, row.unrooted


def day(days: int) -> date:
    return days_ago(days)
