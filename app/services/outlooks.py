"""What is expected of open batches, written down beside their facts.

numpy is loaded only where something was learned already.
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from sqlalchemy import delete, insert
from sqlalchemy.orm import Session

from app.domain.fit_records import BatchToForecast
from app.domain.outcomes import CheckCounts, Standing
from app.store.models.fits import OutlookRow

if TYPE_CHECKING:
    from app.domain.nursery_fits import NurseryFit
    from app.domain.outlooks import BatchOutlook


def outlook_of(
    fit: "NurseryFit | None",
    *,
    batch: BatchToForecast,
    checks: Sequence[CheckCounts],
    standing: Standing,
) -> "BatchOutlook | None":
    """Return what is expected of a batch, None without a fit or where too little is known."""
    if fit is None:
        return None
    from app.domain.outlooks import batch_outlook  # noqa: PLC0415 - start-up must not pay

    return batch_outlook(fit, batch=batch, checks=checks, standing=standing)


def keep_outlooks(session: Session, *, outlooks: Mapping[int, "BatchOutlook | None"]) -> None:
    """Store each batch's outlook in place of its last one; None only takes that away."""
    session.execute(delete(OutlookRow).where(OutlookRow.batch_id.in_(list(outlooks))))
    rows = [
        {
            "batch_id": batch_id,
            "from_on": outlook.from_on,
            "new_by": list(outlook.new_by),
            "ever": outlook.ever,
            "finish": int(outlook.finish),
            "leans_on": outlook.leans_on,
        }
        for batch_id, outlook in outlooks.items()
        if outlook is not None
    ]
    if rows:
        session.execute(insert(OutlookRow.__table__), rows)  # type: ignore[arg-type]
