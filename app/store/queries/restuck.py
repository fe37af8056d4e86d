"""Reading what was taken out of batches and stuck again as others: from those others.

The number re-stuck is stored once, as what the new batch says was stuck; where a batch stands is
worked out from that and from its checks.
"""

from collections.abc import Iterable, Mapping
from datetime import date

from sqlalchemy import Label, Row, func, select
from sqlalchemy.orm import Session

from app.domain.outcomes import CheckCounts, CheckKind
from app.store.models.batches import Batch
from app.store.models.checks import Check, CheckVersion

_CHUNK = 500


def restuck_by_batch(
    session: Session, *, batch_ids: Iterable[int], but_batch_id: int | None = None
) -> Mapping[int, tuple[CheckCounts, ...]]:
    """Return what was re-stuck from each of these batches; void ones took nothing.

    Each stands after the checks of its day that were recorded before it was. `but_batch_id` is a
    batch whose own taking is left out.
    """
    wanted = sorted(set(batch_ids))
    found: dict[int, list[CheckCounts]] = {}
    for start in range(0, len(wanted), _CHUNK):
        chunk = wanted[start : start + _CHUNK]
        query = (
            select(Batch.restuck_from_id, Batch.stuck_on, Batch.stuck, _recorded_before())
            .where(Batch.restuck_from_id.in_(chunk), Batch.voided_at.is_(None))
            .order_by(Batch.stuck_on, Batch.id)
        )
        if but_batch_id is not None:
            query = query.where(Batch.id != but_batch_id)
        for row in session.execute(query):
            found.setdefault(row.restuck_from_id, []).append(_moved(row))
    return {batch_id: tuple(moved) for batch_id, moved in found.items()}


def _recorded_before() -> Label[int]:
    """Return the number of the last check of that day recorded before the batch was, 0 if none."""
    return (
        select(func.coalesce(func.max(Check.running), 0))
        .join(CheckVersion, CheckVersion.check_id == Check.id)
        .where(
            Check.batch_id == Batch.restuck_from_id,
            Check.checked_on == Batch.stuck_on,
            CheckVersion.number == 1,
            CheckVersion.recorded_at <= Batch.made_at,
        )
        .correlate(Batch)
        .scalar_subquery()
        .label("running")
    )


def _moved(row: Row[int | None, date, int, int]) -> CheckCounts:
    return CheckCounts(
        checked_on=row.stuck_on,
        running=row.running,
        kind=CheckKind.LOOKED_ONLY,
        restuck=row.stuck,
    )
