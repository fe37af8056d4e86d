"""Counting up the number that tells that figures of a rate may have changed."""

from sqlalchemy import update
from sqlalchemy.orm import Session

from app.store.models.meta import Meta


def let_be_stale(session: Session) -> None:
    """Let what was learned be stale. Not an edit of the nursery's record, so its version stays."""
    session.execute(
        update(Meta.__table__).values(data_version=Meta.data_version + 1)  # type: ignore[arg-type]
    )
