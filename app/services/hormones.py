"""Hormones: each substance, form and strength stands once."""

from datetime import datetime
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.hormones import NO_HORMONE, Hormone, parse_hormone
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.services.history import record_change
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


def keep_hormone(session: Session, *, hormone: Hormone) -> int:
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


def add_hormone(session: Session, *, actor: Actor | None, now: datetime, text: str) -> Hormone:
    """Add the treatment written in one line to the list and return it.

    Raises:
        NotAccepted: the line is blank, cannot be read, or the treatment is in the list already.
    """
    hormone = parse_hormone(text)
    if hormone is None:
        raise NotAccepted.at("hormone", 'Write the hormone, such as "IBA talc 3000 ppm".')
    known = session.scalar(select(HormoneRow.id).where(HormoneRow.label == hormone.label))
    if known is not None:
        raise NotAccepted.at("hormone", f"{hormone.label} is in the list already.")
    keep_hormone(session, hormone=hormone)
    subject = f"hormone {hormone.label}"
    record_change(session, actor=actor, now=now, what="hormone added", subject=subject, change={})
    return hormone


def load_starting_hormones(session: Session) -> None:
    """Put in the treatments most units have at hand, so that the first batch finds them."""
    for hormone in _STARTING:
        keep_hormone(session, hormone=hormone)
