"""Reading what was written down to be expected of open batches; nothing is worked out here."""

from collections.abc import Mapping, Sequence
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.due_outlooks import KeptOutlook
from app.store.models.batches import BatchFacts
from app.store.models.fits import OutlookRow
from app.store.models.genera import Genus

_CHUNK: Final = 500


def outlooks_by_batch(session: Session, *, batch_ids: Sequence[int]) -> Mapping[int, KeptOutlook]:
    """Return what is expected of each batch, by its id; a batch of which nothing is has none."""
    found: dict[int, KeptOutlook] = {}
    for start in range(0, len(batch_ids), _CHUNK):
        query = (
            select(OutlookRow.__table__, Genus.name.label("genus"))
            .join_from(OutlookRow, BatchFacts, BatchFacts.batch_id == OutlookRow.batch_id)
            .join(Genus, Genus.id == BatchFacts.genus_id)
            .where(OutlookRow.batch_id.in_(batch_ids[start : start + _CHUNK]))
        )
        for row in session.execute(query):
            found[row.batch_id] = KeptOutlook(
                from_on=row.from_on,
                new_by=tuple(row.new_by),
                ever=row.ever,
                finish=bool(row.finish),
                leans_on=row.leans_on,
                genus=row.genus,
            )
    return found


def find_outlook(session: Session, *, batch_id: int) -> KeptOutlook | None:
    """Return what is expected of one batch, None where nothing is."""
    return outlooks_by_batch(session, batch_ids=[batch_id]).get(batch_id)
