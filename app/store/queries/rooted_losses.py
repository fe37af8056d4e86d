"""Reading what became of rooted cuttings of batches that have nothing growing on any more."""

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session

from app.domain.rooted_losses import OwnReady, RootedSums, own_ready
from app.store.models.batches import BatchFacts
from app.store.models.liner_lots import LinerFacts


def find_own_ready(session: Session, *, genus_id: int, genus: str) -> OwnReady | None:
    """Return the nursery's own share of rooted ones that became ready, None if too little is known.

    Counted are batches of which some were potted up and all of those are ready or lost.
    """
    return own_ready(
        genus=genus,
        of_genus=_sums(session, BatchFacts.genus_id == genus_id),
        of_nursery=_sums(session),
    )


def _sums(session: Session, *conditions: ColumnElement[bool]) -> RootedSums:
    query = (
        select(
            func.count().label("batches"),
            func.coalesce(func.sum(LinerFacts.ready), 0).label("ready"),
            func.coalesce(func.sum(LinerFacts.lost), 0).label("lost"),
        )
        .join(BatchFacts, BatchFacts.batch_id == LinerFacts.batch_id)
        .where(LinerFacts.taken > 0, LinerFacts.growing == 0, BatchFacts.voided == 0, *conditions)
    )
    return RootedSums(**session.execute(query).one()._mapping)
