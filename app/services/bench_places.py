"""The order in which batches stand on a bench."""

from datetime import datetime

from sqlalchemy import delete, insert
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.problems import NotFound
from app.services.history import JsonValue, record_change
from app.store.models.benches import BenchPlace
from app.store.queries.bench_batches import get_bench_name, list_standing_batches


def place_on_bench(
    session: Session, *, actor: Actor, now: datetime, bench_id: int, batch_id: int, place: int
) -> int:
    """Put a batch at a place in the order on its bench, 1 for the first; return the one it had.

    The others close up; a place beyond the last means the last.

    Raises:
        NotFound: there is no such bench, or no such open batch on it.
    """
    bench = get_bench_name(session, bench_id=bench_id)
    standing = list_standing_batches(session, bench_id=bench_id)
    order = [batch.batch_id for batch in standing]
    if batch_id not in order:
        raise NotFound(f"This batch does not stand on {bench} now.")
    before = order.index(batch_id) + 1
    order.remove(batch_id)
    order.insert(max(place, 1) - 1, batch_id)
    after = order.index(batch_id) + 1
    session.execute(delete(BenchPlace).where(BenchPlace.bench_id == bench_id))
    session.execute(
        insert(BenchPlace),
        [
            {"bench_id": bench_id, "batch_id": one, "position": position}
            for position, one in enumerate(order, start=1)
        ],
    )
    if after != before:
        code = next(batch.code for batch in standing if batch.batch_id == batch_id)
        change: dict[str, JsonValue] = {f"place on {bench}": [before, after]}
        record_change(
            session,
            actor=actor,
            now=now,
            what="batch placed on its bench",
            subject=f"batch {code}",
            change=change,
        )
    return before
