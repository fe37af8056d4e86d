"""Changing the nursery's own record."""

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.nursery import NurseryEntry, accepted_nursery
from app.domain.people import Actor
from app.services.corrections import correct_row
from app.services.history import record_change
from app.store.models.meta import Meta


def correct_nursery(
    session: Session, *, actor: Actor | None, now: datetime, version: int, entry: NurseryEntry
) -> None:
    """Change the nursery's record: name, zone, half of the globe, word for medium, raw powder.

    Raises:
        NotAccepted: a value is not possible.
        ChangedMeanwhile: somebody else saved it after `version` was read.
    """
    entry = accepted_nursery(entry)
    row = session.scalars(select(Meta)).one()
    after = {
        "nursery": entry.name,
        "zone": entry.zone,
        "hemisphere": str(entry.hemisphere),
        "medium_word": entry.medium_word,
        "raw_powder": entry.raw_powder,
    }
    changes = correct_row(row, version=version, after=after)
    if changes:
        record_change(
            session,
            actor=actor,
            now=now,
            what="nursery changed",
            subject="nursery",
            change=changes,
        )
