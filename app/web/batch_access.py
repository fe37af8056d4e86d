"""Whether the person signed in may change a batch."""

from app.domain.batch_rights import may_correct_batch, refuse_foreign_batch
from app.store.queries.batches import BatchStory
from app.web.requests import actor, today


def may_correct(batch: BatchStory) -> bool:
    """Return whether this person may correct or void the batch."""
    return may_correct_batch(
        actor(),
        recorded_by_id=batch.recorded_by_id,
        made_on=batch.made_at.date(),
        today=today(),
    )


def refuse_foreign(batch: BatchStory) -> None:
    """Let pass whoever may correct or void the batch.

    Raises:
        NotAllowed: this person may not; the words say whom to ask.
    """
    refuse_foreign_batch(
        actor(),
        recorded_by_id=batch.recorded_by_id,
        made_on=batch.made_at.date(),
        today=today(),
    )
