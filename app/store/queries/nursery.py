"""Reading the nursery's own record."""

from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.nursery import Hemisphere
from app.store.models.meta import Meta


@dataclass(frozen=True, kw_only=True)
class Nursery:
    """The nursery as it stands."""

    name: str
    zone: str
    hemisphere: Hemisphere
    medium_word: str
    raw_powder: bool
    version: int


def get_nursery(session: Session) -> Nursery:
    """Return the nursery; a new database has a nameless northern one on UTC."""
    row = session.execute(select(Meta.__table__)).one()
    return Nursery(
        name=row.nursery,
        zone=row.zone,
        hemisphere=Hemisphere(row.hemisphere),
        medium_word=row.medium_word,
        raw_powder=row.raw_powder,
        version=row.version,
    )
