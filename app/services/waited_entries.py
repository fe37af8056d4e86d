"""Keep when an entry that waited on a device was recorded there."""

from collections.abc import Iterable

from sqlalchemy import insert
from sqlalchemy.orm import Session

from app.domain.waited_entries import WaitedEntry
from app.store.models.waited_entries import WaitedEntryRow


def keep_waited(
    session: Session,
    *,
    waited: WaitedEntry | None,
    check_ids: Iterable[int] = (),
    batch_ids: Iterable[int] = (),
) -> None:
    """Store it beside the records that the entry made; nothing where it did not wait.

    It is no change of its own: the history has the line of each record.
    """
    if waited is None:
        return
    said = {
        "recorded_at": waited.recorded_at,
        "received_at": waited.received_at,
        "doubtful": int(waited.doubtful),
        "mark": waited.mark,
    }
    ids = [*({"check_id": each} for each in check_ids), *({"batch_id": each} for each in batch_ids)]
    rows = [{"check_id": None, "batch_id": None, **said, **of} for of in ids]
    if rows:
        session.execute(insert(WaitedEntryRow.__table__), rows)  # type: ignore[arg-type]
