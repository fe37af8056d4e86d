"""Numbers printed on labels ahead: reserving them, putting one on a batch, taking it off."""

from datetime import datetime
from typing import Final

from sqlalchemy.orm import Session

from app.domain.codes import label_number_code
from app.domain.labels import MOST_LABELS
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.services.history import record_change
from app.store.models.batches import Batch
from app.store.models.labels import BatchTag, LabelRun
from app.store.queries.batches import find_batch_id
from app.store.queries.label_numbers import KnownNumber, find_label_number, last_reserved

_NONE: Final = (
    "{typed} is no label printed ahead for this log: look at the label again, or leave it blank."
)


def reserve_label_numbers(
    session: Session, *, actor: Actor, now: datetime, number: int
) -> tuple[str, str]:
    """Reserve as many numbers as labels are wanted, and return the first and the last of them.

    Raises:
        NotAccepted: at "number", none or too many.
    """
    if not 1 <= number <= MOST_LABELS:
        raise NotAccepted.at("number", f"Give a number of labels, from 1 to {MOST_LABELS:,}.")
    first = last_reserved(session) + 1
    last = first + number - 1
    session.add(LabelRun(first=first, last=last, made_at=now, recorded_by_id=actor.person_id))
    session.flush()
    said = label_number_code(first), label_number_code(last)
    record_change(
        session,
        actor=actor,
        now=now,
        what="label numbers reserved",
        subject="labels",
        change={"numbers": ["", f"{said[0]} to {said[1]}"]},
    )
    return said


def put_label_on(
    session: Session, *, actor: Actor, now: datetime, typed: str, batch_code: str
) -> str:
    """Put a label printed ahead on a batch, and return its number as it says it.

    Raises:
        NotAccepted: at "tag", it was never reserved or is on another batch; at "batch", there is
            no such batch, or it is void.
    """
    known = find_label_number(session, text=typed)
    if known is None:
        raise NotAccepted.at("tag", _NONE.format(typed=typed.strip() or "This"))
    batch = _batch(session, code=batch_code)
    if known.batch == batch.code:
        return known.code
    if not known.is_free:
        raise NotAccepted.at("tag", f"{known.code} is on batch {known.batch} already.")
    _write(session, number=known.number, batch_id=batch.id)
    _changed(session, batch, actor=actor, now=now, before="", after=known.code)
    return known.code


def take_label_off(
    session: Session, *, actor: Actor, now: datetime, typed: str, batch_code: str
) -> KnownNumber:
    """Take a label printed ahead off its batch, so that it is free again, and return it.

    Raises:
        NotAccepted: it is not on this batch.
    """
    known = find_label_number(session, text=typed)
    batch = _batch(session, code=batch_code)
    if known is None or known.batch != batch.code:
        raise NotAccepted.at("", f"{typed.strip()} is not on {batch.code}.")
    _write(session, number=known.number, batch_id=None)
    _changed(session, batch, actor=actor, now=now, before=known.code, after="")
    return known


def _batch(session: Session, *, code: str) -> Batch:
    batch_id = find_batch_id(session, code=code)
    batch = None if batch_id is None else session.get(Batch, batch_id)
    if batch is None:
        raise NotAccepted.at("batch", f"There is no batch {code.strip() or 'without a code'}.")
    if batch.voided_at is not None:
        raise NotAccepted.at("batch", f"{batch.code} is void: it gets no label.")
    return batch


def _write(session: Session, *, number: int, batch_id: int | None) -> None:
    row = session.get(BatchTag, number)
    if row is None:
        session.add(BatchTag(number=number, batch_id=batch_id))
    else:
        row.batch_id = batch_id
    session.flush()


def _changed(
    session: Session, batch: Batch, *, actor: Actor, now: datetime, before: str, after: str
) -> None:
    record_change(
        session,
        actor=actor,
        now=now,
        what="label printed ahead put on" if after else "label printed ahead taken off",
        subject=f"batch {batch.code}",
        change={"label": [before, after]},
    )
