"""Reading what stands open on a bench, for walking along it."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import and_, func, literal_column, select
from sqlalchemy.orm import Session

from app.domain.problems import NotFound
from app.store.models.batches import Batch, BatchFacts
from app.store.models.benches import Bench, BenchPlace, BenchStay
from app.store.models.plant_names import PlantNameRow

_UNPLACED = 1_000_000


@dataclass(frozen=True, kw_only=True)
class StandingBatch:
    """An open batch on a bench."""

    batch_id: int
    code: str
    plant: str
    stuck: int
    stuck_on: date
    unrooted: int
    due_on: date
    late_on: date
    last_looked_on: date | None


def list_standing_batches(session: Session, *, bench_id: int) -> tuple[StandingBatch, ...]:
    """Return the open batches standing on a bench now, in the order they stand, else by code."""
    query = (
        select(
            BatchFacts.batch_id,
            Batch.code,
            PlantNameRow.plain.label("plant"),
            BatchFacts.stuck,
            BatchFacts.stuck_on,
            BatchFacts.unrooted,
            BatchFacts.due_on,
            BatchFacts.late_on,
            BatchFacts.last_looked_on,
            func.coalesce(BenchPlace.position, _UNPLACED).label("place"),
            Batch.year,
            Batch.number,
        )
        .join(Batch, Batch.id == BatchFacts.batch_id)
        .join(PlantNameRow, PlantNameRow.id == BatchFacts.plant_name_id)
        .join(BenchStay, BenchStay.batch_id == BatchFacts.batch_id)
        .outerjoin(
            BenchPlace,
            and_(BenchPlace.bench_id == bench_id, BenchPlace.batch_id == BatchFacts.batch_id),
        )
        .where(
            literal_column("batch_facts.open") == literal_column("1"),
            BenchStay.bench_id == bench_id,
            BenchStay.to_on.is_(None),
        )
        .order_by("place", Batch.year, Batch.number)
        .distinct()
    )
    columns = StandingBatch.__dataclass_fields__
    return tuple(
        StandingBatch(**{name: getattr(row, name) for name in columns})
        for row in session.execute(query)
    )


def get_bench_name(session: Session, *, bench_id: int) -> str:
    """Return the name of a bench.

    Raises:
        NotFound: there is no such bench.
    """
    name = session.scalar(select(Bench.name).where(Bench.id == bench_id))
    if name is None:
        raise NotFound("There is no such bench.")
    return name
