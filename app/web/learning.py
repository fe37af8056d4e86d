"""What a page needs of what the batches taught: up to date, and read afresh."""

from typing import TYPE_CHECKING

from app.services.fits import learn
from app.store.queries.fits import find_fit
from app.web.requests import database, db, end_reading, now

if TYPE_CHECKING:
    from app.domain.nursery_fits import NurseryFit


def learned_fit() -> "NurseryFit | None":
    """Return the fit of the batches as they are; made anew first if they changed.

    The request's own transaction ends before: a fit is kept in a short writing one, which must
    not wait for this very request.
    """
    end_reading()
    learn(database(), now=now())
    stored = find_fit(db())
    return stored.fit if stored else None
