"""Reading where batches stand and stood."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.batch_moves import Stand
from app.store.models.benches import Bench, BenchStay


@dataclass(frozen=True, kw_only=True)
class BatchStay:
    """A stay of a batch, or of so many of its trays, on a bench; no `to_on` while it lasts."""

    bench_id: int
    bench: str
    trays: int | None
    from_on: date
    to_on: date | None


def list_batch_stays(session: Session, *, batch_id: int) -> tuple[BatchStay, ...]:
    """Return the stays of a batch, the first one first."""
    query = (
        select(
            BenchStay.bench_id,
            Bench.name.label("bench"),
            BenchStay.trays,
            BenchStay.from_on,
            BenchStay.to_on,
        )
        .join(Bench, Bench.id == BenchStay.bench_id)
        .where(BenchStay.batch_id == batch_id)
        .order_by(BenchStay.from_on, BenchStay.id)
    )
    return tuple(BatchStay(**row._mapping) for row in session.execute(query))


def list_stands(session: Session, *, batch_id: int) -> tuple[Stand, ...]:
    """Return the stays of a batch that are going on."""
    query = (
        select(
            BenchStay.id.label("stay_id"),
            BenchStay.bench_id,
            Bench.name.label("bench"),
            BenchStay.from_on,
            BenchStay.trays,
        )
        .join(Bench, Bench.id == BenchStay.bench_id)
        .where(BenchStay.batch_id == batch_id, BenchStay.to_on.is_(None))
        .order_by(BenchStay.id)
    )
    return tuple(Stand(**row._mapping) for row in session.execute(query))


def benches_now(session: Session, *, batch_ids: Iterable[int]) -> Mapping[int, tuple[str, ...]]:
    """Return the names of the benches where each batch stands now, in walking order."""
    query = (
        select(BenchStay.batch_id, Bench.name)
        .join(Bench, Bench.id == BenchStay.bench_id)
        .where(BenchStay.batch_id.in_(list(batch_ids)), BenchStay.to_on.is_(None))
        .order_by(BenchStay.batch_id, Bench.walking_order, Bench.name)
        .distinct()
    )
    found: dict[int, tuple[str, ...]] = {}
    for row in session.execute(query):
        batch_id: int = row._mapping["batch_id"]
        found[batch_id] = (*found.get(batch_id, ()), row.name)
    return found
