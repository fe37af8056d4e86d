"""What a page needs of what the batches taught: up to date, and read afresh."""

from typing import TYPE_CHECKING

from flask import current_app
from sqlalchemy.exc import OperationalError

from app.services.fits import learn
from app.store.fair_lock import TooBusy
from app.store.queries.fits import find_fit
from app.store.queries.strike_rates import get_rate_answer
from app.web.requests import database, db, end_reading, now

if TYPE_CHECKING:
    from app.domain.nursery_fits import NurseryFit
    from app.domain.strike_rates_answers import RateAnswer
    from app.domain.strike_rates_questions import RateQuestion
    from app.store.queries.order_plans import PlanBooks


def learned_fit() -> "NurseryFit | None":
    """Return the fit of the batches as they are; made anew first if they changed.

    The request's own transaction ends before: a fit is kept in a short writing one, which must
    not wait for this very request. Where nothing can be written, for a full disk or a busy log,
    reading goes on with what was learned last.
    """
    end_reading()
    try:
        learn(database(), now=now())
    except (OperationalError, TooBusy):
        current_app.logger.warning("What the batches teach stays as it was", exc_info=True)
    stored = find_fit(db())
    return stored.fit if stored else None


def learned_answer(question: "RateQuestion") -> "RateAnswer":
    """Return the answer to a question about strike rates with what was learned, if anything.

    Raises:
        NotAccepted: a filter's value is unknown.
    """
    from app.store.queries.learned_rates import get_learned_answer  # noqa: PLC0415 - loads numpy

    fit = learned_fit()
    if fit is None:
        return get_rate_answer(db(), question=question)
    return get_learned_answer(db(), question=question, fit=fit)


def learned_books() -> "PlanBooks":
    """Return what plans of this request rest on, learned afresh if the batches changed."""
    from app.store.queries.order_plans import read_plan_books  # noqa: PLC0415 - loads numpy

    fit = learned_fit()
    return read_plan_books(db(), fit=fit)
