"""Learning from the batches, once after they changed, and writing down what follows.

The sums are done outside any transaction: `learn` reads in one, `keep_fit` writes in another.
"""

from datetime import datetime
from typing import TYPE_CHECKING

from sqlalchemy import delete, insert, select
from sqlalchemy.orm import Session

from app.services.batch_facts import refresh_dates
from app.store.models.batches import BatchFacts
from app.store.models.fits import FitRow
from app.store.models.meta import Meta
from app.store.queries.fits import find_fit, fit_is_stale

if TYPE_CHECKING:
    from app.domain.nursery_fits import NurseryFit
    from app.store.session import Database


def learn(database: "Database", *, now: datetime) -> None:
    """Fit anew if the batches changed since the last fit, keep it, and renew open batches' dates.

    A fit that was overtaken by a change while it was being worked out is kept all the same: it
    is marked with the data it was made from, and the next call makes another.
    """
    from app.domain.nursery_fits import fit_nursery  # noqa: PLC0415 - start-up must not pay
    from app.store.queries.fit_records import read_fit_records  # noqa: PLC0415 - as above

    with database.reading() as session:
        if not fit_is_stale(session):
            return
        data_version = session.scalar(select(Meta.data_version)) or 0
        records = read_fit_records(session)
    fit = fit_nursery(records)
    with database.writing() as session:
        keep_fit(session, fit=fit, data_version=data_version, now=now)


def keep_fit(session: Session, *, fit: "NurseryFit", data_version: int, now: datetime) -> None:
    """Store the fit in place of the last one, and renew the dates of every open batch."""
    from app.store.fit_blobs import pack_fit  # noqa: PLC0415 - start-up must not pay for numpy

    before = find_fit(session)
    session.execute(delete(FitRow))
    session.execute(
        insert(FitRow).values(id=1, data_version=data_version, fitted_at=now, payload=pack_fit(fit))
    )
    if not fit.may_forecast and (before is None or not before.fit.may_forecast):
        # Too little is known to time anything by it, and was before: no date can change.
        return
    open_ids = session.scalars(select(BatchFacts.batch_id).where(BatchFacts.open == 1)).all()
    refresh_dates(session, batch_ids=open_ids, fit=fit)
