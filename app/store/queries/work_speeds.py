"""Reading the hours of each step that are written down on batches."""

from collections.abc import Iterator
from datetime import date
from typing import Final

from sqlalchemy import func, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from app.domain.cutting_types import CuttingType
from app.domain.work_speeds import Step, WorkDone
from app.store.models.batches import Batch, BatchFacts

_HOURS: Final[dict[Step, InstrumentedAttribute[float | None]]] = {
    Step.GATHERED: Batch.gathered_hours,
    Step.MADE: Batch.made_hours,
    Step.STUCK: Batch.hours,
}
_PEOPLE: Final[dict[Step, InstrumentedAttribute[int | None]]] = {
    Step.GATHERED: Batch.gathered_by_id,
    Step.MADE: Batch.made_by_id,
    Step.STUCK: Batch.stuck_by_id,
}


def list_work_done(
    session: Session, *, since: date, person_id: int | None = None
) -> tuple[WorkDone, ...]:
    """Return the steps with hours of the batches stuck since a day, of one person if given.

    What was gathered and made counts with what was thrown out of it; void batches are left out.
    """
    return tuple(
        work for step in Step for work in _done(session, step, since=since, person_id=person_id)
    )


def _done(
    session: Session, step: Step, *, since: date, person_id: int | None
) -> Iterator[WorkDone]:
    query = (
        select(
            Batch.cutting_type,
            Batch.stuck,
            func.coalesce(Batch.taken, Batch.stuck + func.coalesce(Batch.thrown_out, 0)).label(
                "handled"
            ),
            _HOURS[step].label("hours"),
        )
        .join(BatchFacts, BatchFacts.batch_id == Batch.id)
        .where(BatchFacts.stuck_on >= since, BatchFacts.voided == 0, _HOURS[step] > 0)
    )
    if person_id is not None:
        query = query.where(_PEOPLE[step] == person_id)
    for row in session.execute(query):
        yield WorkDone(
            cutting_type=CuttingType(row.cutting_type) if row.cutting_type else None,
            step=step,
            cuttings=row.stuck if step is Step.STUCK else row.handled,
            hours=row.hours,
        )
