"""Reading when entries that waited on a device were recorded there."""

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Row, select
from sqlalchemy.orm import Session

from app.domain.waited_entries import WaitedEntry
from app.store.models.batches import Batch
from app.store.models.checks import Check
from app.store.models.waited_entries import WaitedEntryRow


def waited_by_check(session: Session, *, batch_id: int) -> Mapping[int, WaitedEntry]:
    """Return those of a batch's checks that waited, by the check's id."""
    query = (
        select(WaitedEntryRow.__table__)
        .join(Check, Check.id == WaitedEntryRow.check_id)
        .where(Check.batch_id == batch_id)
    )
    return {row.check_id: _waited(row) for row in session.execute(query)}


def find_waited_batch(session: Session, *, batch_id: int) -> WaitedEntry | None:
    """Return when a batch that waited was recorded, None if it did not wait."""
    query = select(WaitedEntryRow.__table__).where(WaitedEntryRow.batch_id == batch_id)
    row = session.execute(query).one_or_none()
    return None if row is None else _waited(row)


def list_marked(session: Session, *, mark: str) -> tuple[str, ...]:
    """Return the codes of the batches that stood under a mark until they were received."""
    if not mark:
        return ()
    query = (
        select(Batch.code)
        .join(WaitedEntryRow, WaitedEntryRow.batch_id == Batch.id)
        .where(WaitedEntryRow.mark == mark)
        .order_by(Batch.year, Batch.number)
    )
    return tuple(session.scalars(query))


def _waited(row: Row[tuple[Any, ...]]) -> WaitedEntry:
    return WaitedEntry(
        recorded_at=row.recorded_at,
        received_at=row.received_at,
        doubtful=bool(row.doubtful),
        mark=row.mark,
    )
