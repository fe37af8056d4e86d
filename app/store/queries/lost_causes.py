"""Reading the list of causes a cutting is lost to."""

from dataclasses import dataclass

from sqlalchemy import Row, select
from sqlalchemy.orm import Session

from app.domain.problems import NotFound
from app.store.models.lost_causes import LostCause


@dataclass(frozen=True, kw_only=True)
class KnownCause:
    """A cause as it stands; a retired one is no longer offered."""

    id: int
    name: str
    spreads: bool
    retired: bool
    version: int


def list_lost_causes(session: Session, *, retired: bool = False) -> tuple[KnownCause, ...]:
    """Return the causes in use in their order, or with `retired` all of them."""
    query = select(LostCause.__table__).order_by(LostCause.position, LostCause.id)
    if not retired:
        query = query.where(LostCause.retired_at.is_(None))
    return tuple(_known(row) for row in session.execute(query))


def get_lost_cause(session: Session, *, cause_id: int) -> KnownCause:
    """Return one cause.

    Raises:
        NotFound: there is none with this id.
    """
    query = select(LostCause.__table__).where(LostCause.id == cause_id)
    row = session.execute(query).one_or_none()
    if row is None:
        raise NotFound("This cause is not in the list.")
    return _known(row)


def _known(row: Row[tuple[object, ...]]) -> KnownCause:
    return KnownCause(
        id=row.id,
        name=row.name,
        spreads=bool(row.spreads),
        retired=row.retired_at is not None,
        version=row.version,
    )
