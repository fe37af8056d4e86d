"""Reading hormones."""

from dataclasses import dataclass

from sqlalchemy import Row, select
from sqlalchemy.orm import Session

from app.domain.hormones import Hormone
from app.store.models.hormones import HormoneRow


@dataclass(frozen=True, kw_only=True)
class KnownHormone:
    """A treatment this nursery has used or started with."""

    id: int
    label: str
    hormone: Hormone


def list_hormones(session: Session) -> tuple[KnownHormone, ...]:
    """Return every treatment: none first, then by substance, form and strength."""
    rows = session.execute(
        select(HormoneRow.__table__).order_by(
            HormoneRow.substance != "none", HormoneRow.substance, HormoneRow.form, HormoneRow.ppm
        )
    )
    return tuple(_known(row) for row in rows)


def find_hormone_id(session: Session, *, hormone: Hormone) -> int | None:
    """Return the id of this very treatment, None where it was never used nor started with."""
    return session.scalar(
        select(HormoneRow.id).where(
            HormoneRow.substance == hormone.substance,
            HormoneRow.form == hormone.form,
            HormoneRow.ppm == (-1 if hormone.ppm is None else hormone.ppm),
        )
    )


def _known(row: Row[tuple[int, str, str, int, str]]) -> KnownHormone:
    hormone = Hormone(substance=row.substance, form=row.form, ppm=None if row.ppm < 0 else row.ppm)
    return KnownHormone(id=row.id, label=row.label, hormone=hormone)
