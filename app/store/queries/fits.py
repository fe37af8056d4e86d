"""Reading what was learned."""

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.cutting_types import OTHER_WAYS
from app.store.models.batches import Batch, BatchFacts
from app.store.models.fits import FitRow
from app.store.models.meta import Meta

if TYPE_CHECKING:
    from app.domain.nursery_fits import NurseryFit


@dataclass(frozen=True, kw_only=True)
class StoredFit:
    """A fit, when it was made, and whether the batches have changed since."""

    fit: "NurseryFit"
    fitted_at: datetime
    stale: bool


def find_fit(session: Session) -> StoredFit | None:
    """Return the newest fit, or None where nothing has been learned yet.

    numpy is loaded only where there is a fit to unpack.
    """
    row = session.execute(
        select(FitRow.data_version, FitRow.fitted_at, FitRow.payload)
    ).one_or_none()
    if row is None:
        return None
    from app.store.fit_blobs import unpack_fit  # noqa: PLC0415 - start-up must not pay for numpy

    fit = unpack_fit(row.payload)
    if fit is None:
        return None
    stale = row.data_version != session.scalar(select(Meta.data_version))
    return StoredFit(fit=fit, fitted_at=row.fitted_at, stale=stale)


def count_settled(session: Session) -> int:
    """Return how many batches of cuttings can be learned from: finished, not re-stuck."""
    facts = BatchFacts
    query = (
        select(func.count())
        .select_from(facts)
        .join(Batch, Batch.id == facts.batch_id)
        .where(
            facts.voided == 0,
            facts.unrooted == 0,
            facts.cleared_unrooted == 0,
            Batch.restuck_from_id.is_(None),
            facts.cutting_type.not_in(OTHER_WAYS),
        )
    )
    return session.scalar(query) or 0


def fit_is_stale(session: Session) -> bool:
    """Return whether there is no fit of the batches as they are now."""
    made_from = session.scalar(select(FitRow.data_version))
    return made_from != session.scalar(select(Meta.data_version))
