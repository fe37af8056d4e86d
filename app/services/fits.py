"""Learning from the batches, once after they changed, and writing down what follows.

The sums are done outside any transaction: `learn` reads in one, `keep_fit` writes in another.
"""

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from sqlalchemy import delete, insert, select
from sqlalchemy.orm import Session

from app.domain.fit_records import FEWEST_FINISHED
from app.services.batch_facts import refresh_dates
from app.store.models.batches import BatchFacts
from app.store.models.fits import FitRow
from app.store.models.meta import Meta
from app.store.queries.fits import count_settled, find_fit, fit_is_stale

if TYPE_CHECKING:
    from app.domain.nursery_fits import NurseryFit
    from app.store.session import Database


def learn(database: "Database", *, now: datetime) -> None:
    """Fit anew if the batches changed since the last fit, keep it, and renew open batches' dates.

    Below twelve finished batches nothing is learned, and what was learned before is forgotten. A
    fit that was overtaken by a change while it was being worked out is kept all the same: it is
    marked with the data it was made from, and the next call makes another.
    """
    with database.reading() as session:
        if not fit_is_stale(session):
            return
        enough = count_settled(session) >= FEWEST_FINISHED
        known = find_fit(session) is not None
    if enough:
        _fit_anew(database, now=now)
    elif known:
        with database.writing() as session:
            _forget(session)


def keep_fit(session: Session, *, fit: "NurseryFit", data_version: int, now: datetime) -> None:
    """Store the fit in place of the last one, and renew the dates of every open batch."""
    from app.store.fit_blobs import pack_fit  # noqa: PLC0415 - start-up must not pay for numpy

    session.execute(delete(FitRow))
    session.execute(
        insert(FitRow).values(id=1, data_version=data_version, fitted_at=now, payload=pack_fit(fit))
    )
    refresh_dates(session, batch_ids=_open_ids(session), fit=fit)


def _fit_anew(database: "Database", *, now: datetime) -> None:
    from app.domain.nursery_fits import fit_nursery  # noqa: PLC0415 - start-up must not pay
    from app.store.queries.fit_records import read_fit_records  # noqa: PLC0415 - as above

    with database.reading() as session:
        data_version = session.scalar(select(Meta.data_version)) or 0
        records = read_fit_records(session)
    fit = fit_nursery(records)
    with database.writing() as session:
        keep_fit(session, fit=fit, data_version=data_version, now=now)


def _forget(session: Session) -> None:
    session.execute(delete(FitRow))
    refresh_dates(session, batch_ids=_open_ids(session))


def _open_ids(session: Session) -> Sequence[int]:
    return session.scalars(select(BatchFacts.batch_id).where(BatchFacts.open == 1)).all()
