"""Where batches stand: each stay on a bench has a first day and, once over, a last.

A batch that is void or cleared keeps its stays: who lists a bench asks for open batches only.
"""

from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.bench_stays import StayOnBench
from app.domain.problems import NotAccepted
from app.store.models.benches import BenchStay


def begin_stay(session: Session, *, batch_id: int, bench_id: int | None, from_on: date) -> None:
    """Let a whole batch stand on a bench from a day on; without a bench nothing is kept."""
    if bench_id is not None:
        session.add(BenchStay(batch_id=batch_id, bench_id=bench_id, from_on=from_on))


def refuse_too_few_trays(session: Session, *, batch_id: int, trays: int | None) -> None:
    """Refuse a number of trays below what was moved about in parts.

    Raises:
        NotAccepted: more trays of the batch stood on benches at once.
    """
    query = select(BenchStay).where(BenchStay.batch_id == batch_id)
    stays = [
        StayOnBench(from_on=stay.from_on, to_on=stay.to_on, trays=stay.trays)
        for stay in session.scalars(query)
    ]
    most = max(
        (sum(one.trays or 0 for one in stays if one.is_there(stay.from_on)) for stay in stays),
        default=0,
    )
    if trays is not None and trays < most:
        sentence = (
            f"{most:,} trays of it were moved about in parts, so it had at least so many. Give the "
            "number without trays if nobody knows."
        )
        raise NotAccepted.at("stuck", sentence)


def correct_first_stay(
    session: Session, *, batch_id: int, bench_id: int | None, from_on: date
) -> None:
    """Put right where and from when the batch stood first; moves since then are kept."""
    query = (
        select(BenchStay)
        .where(BenchStay.batch_id == batch_id)
        .order_by(BenchStay.from_on, BenchStay.id)
        .limit(1)
    )
    stay = session.scalars(query).one_or_none()
    if stay is None:
        begin_stay(session, batch_id=batch_id, bench_id=bench_id, from_on=from_on)
    elif bench_id is None:
        session.delete(stay)
    else:
        stay.bench_id = bench_id
        stay.from_on = from_on if stay.to_on is None else min(from_on, stay.to_on)
