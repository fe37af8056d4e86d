"""Looking over practical sessions: what does not agree, in sentences."""

from collections.abc import Iterator

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.codes import practical_code
from app.domain.practical_cautions import fingerprint_of
from app.store.models.batches import Batch
from app.store.models.practicals import Practical, PracticalBatch, PracticalReading, PracticalText


def practical_faults(session: Session) -> Iterator[tuple[str, str]]:
    """Yield (record, sentence) for every session whose rows do not agree with each other."""
    texts = (
        select(Practical.number, PracticalText.text, PracticalText.fingerprint)
        .join(Practical, Practical.id == PracticalText.practical_id)
        .order_by(PracticalText.id)
    )
    for row in session.execute(texts):
        if fingerprint_of(row.text) != row.fingerprint:
            yield _record(row.number), "The cautions kept are not those that were read."
    foreign = (
        select(Practical.number)
        .join(PracticalReading, PracticalReading.practical_id == Practical.id)
        .join(PracticalText, PracticalText.id == PracticalReading.text_id)
        .where(PracticalText.practical_id != Practical.id)
    )
    for number in session.scalars(foreign):
        yield _record(number), "Cautions of another session were read for it."
    cancelled = (
        select(Practical.number, Batch.code)
        .join(PracticalBatch, PracticalBatch.practical_id == Practical.id)
        .join(Batch, Batch.id == PracticalBatch.batch_id)
        .where(Practical.cancelled_at.is_not(None))
        .order_by(Batch.id)
    )
    for number, code in session.execute(cancelled):
        yield _record(number), f"It is cancelled, but batch {code} belongs to it."


def _record(number: int) -> str:
    return f"practical session {practical_code(number)}"
