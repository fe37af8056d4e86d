"""What the working of one rate is made of, besides its counts."""

from dataclasses import replace

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.nursery_fits import NurseryFit
from app.domain.rate_members import leaning_order
from app.domain.rate_workings import CountedBatch, OpenBatch, RateContext
from app.domain.strike_rates import ASSUMED_CORRELATION, RateOf, RateSquare
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import RateQuestion
from app.store.models.batches import Batch
from app.store.models.fits import OutlookRow
from app.store.queries.learned_rates import get_learned_square
from app.store.queries.strike_rates import BatchBehind, list_batches_behind

_LOOKED_AT = 200


def get_rate_context(
    session: Session, *, question: RateQuestion, of: tuple[RateKey, ...], fit: NurseryFit | None
) -> RateContext:
    """Return the correlation, an example batch, the wider group and the open batches of a square.

    Raises:
        NotAccepted: a filter's value is unknown.
    """
    behind = list_batches_behind(session, question=question, limit=_LOOKED_AT)
    example = CountedBatch(code=behind[0].code, stuck=behind[0].stuck) if behind else None
    if fit is None or not fit.may_forecast or question.of is not RateOf.STRIKE:
        return RateContext(correlation=ASSUMED_CORRELATION, finished=0, example=example, wider=None)
    return RateContext(
        correlation=fit.correlation,
        finished=fit.finished,
        example=example,
        wider=_wider(session, question=question, of=of, fit=fit),
        open_batches=_open_batches(session, behind),
    )


def _wider(
    session: Session, *, question: RateQuestion, of: tuple[RateKey, ...], fit: NurseryFit
) -> RateSquare | None:
    order = leaning_order(of)
    if not order:
        return None
    narrowest = order[-1]
    wider = replace(
        question, where=tuple(each for each in question.where if each.key is not narrowest)
    )
    kept = tuple(key for key in of if key is not narrowest)
    return get_learned_square(session, question=wider, fit=fit, of=kept)


def _open_batches(session: Session, behind: tuple[BatchBehind, ...]) -> tuple[OpenBatch, ...]:
    waiting = {batch.code: batch for batch in behind if batch.unrooted}
    rows = session.execute(
        select(Batch.code, OutlookRow.ever)
        .join(Batch, Batch.id == OutlookRow.batch_id)
        .where(Batch.code.in_(list(waiting)))
        .order_by(Batch.year, Batch.number)
    )
    return tuple(
        OpenBatch(
            code=row.code,
            unrooted=waiting[row.code].unrooted,
            age_days=_age(waiting[row.code]),
            expected=row.ever,
        )
        for row in rows
    )


def _age(batch: BatchBehind) -> int:
    return ((batch.counted_on or batch.stuck_on) - batch.stuck_on).days
