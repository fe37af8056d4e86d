"""Hormones: each substance, form and strength stands once."""

from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.hormones import NO_HORMONE, Hormone
from app.store.models.hormones import HormoneRow

_UNKNOWN_PPM: Final = -1
_STARTING: Final = (
    Hormone(substance=NO_HORMONE),
    Hormone(substance="IBA", form="talc", ppm=1000),
    Hormone(substance="IBA", form="talc", ppm=3000),
    Hormone(substance="IBA", form="talc", ppm=8000),
    Hormone(substance="IBA", form="quick dip", ppm=1000),
    Hormone(substance="IBA", form="quick dip", ppm=2500),
    Hormone(substance="K-IBA", form="quick dip", ppm=1000),
)


def keep_hormone(session: Session, hormone: Hormone) -> int:
    """Return the id of the hormone's row, making the row if this treatment is new."""
    ppm = _UNKNOWN_PPM if hormone.ppm is None else hormone.ppm
    found = session.scalar(
        select(HormoneRow.id).where(
            HormoneRow.substance == hormone.substance,
            HormoneRow.form == hormone.form,
            HormoneRow.ppm == ppm,
        )
    )
    if found is not None:
        return found
    row = HormoneRow(substance=hormone.substance, form=hormone.form, ppm=ppm, label=hormone.label)
    session.add(row)
    session.flush()
    return row.id


def load_starting_hormones(session: Session) -> None:
    """Put in the treatments most units have at hand, so that the first batch finds them."""
    for hormone in _STARTING:
        keep_hormone(session, hormone)
