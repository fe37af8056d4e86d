"""Changing what labels need besides the records they are for."""

from datetime import datetime

from sqlalchemy.orm import Session

from app.domain.labels import accepted_address
from app.domain.people import Actor
from app.services.corrections import correct_row
from app.services.history import record_change
from app.store.models.labels import LabelAddress


def set_label_address(
    session: Session, *, actor: Actor, now: datetime, version: int, address: str
) -> None:
    """Set the address that the codes on labels lead to from now on; "" leaves it to the program.

    Raises:
        NotAccepted: it is no address.
        ChangedMeanwhile: somebody else set it after `version` was read.
    """
    wanted = accepted_address(address) if address.strip() else ""
    row = session.get(LabelAddress, 1)
    if row is None:
        row = LabelAddress(id=1, address="")
        session.add(row)
        session.flush()
    changes = correct_row(row, version=version, after={"address": wanted})
    if changes:
        record_change(
            session,
            actor=actor,
            now=now,
            what="address on labels set",
            subject="labels",
            change=changes,
        )
