"""Reading where liner lots stand and stood."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from app.domain.batch_moves import Stand
from app.store.models.batches import Batch
from app.store.models.benches import Bench, BenchStay
from app.store.models.liner_lots import LinerLot, LinerLotFacts
from app.store.models.plant_names import PlantNameRow
from app.store.queries.batch_places import BatchStay


@dataclass(frozen=True, kw_only=True)
class StoodLot:
    """A liner lot on a bench on a day; `trays` None where not recorded, `number` there now."""

    lot_id: int
    bench_id: int
    code: str
    plant: str
    trays: int | None
    number: int
    from_on: date
    to_on: date | None


def list_stood_lots(
    session: Session, *, on: date, bench_id: int | None = None
) -> tuple[StoodLot, ...]:
    """Return the lots that stood on the benches on a day, by code.

    A lot stands until it is moved, or until the last plant left it. On the day of a move it stands
    on the new bench.
    """
    query = (
        select(
            LinerLot.id.label("lot_id"),
            BenchStay.bench_id,
            LinerLot.code,
            PlantNameRow.plain.label("plant"),
            LinerLot.trays,
            LinerLotFacts.number,
            BenchStay.from_on,
            BenchStay.to_on,
        )
        .join(LinerLot, LinerLot.id == BenchStay.liner_lot_id)
        .join(LinerLotFacts, LinerLotFacts.liner_lot_id == LinerLot.id)
        .outerjoin(Batch, Batch.id == LinerLot.batch_id)
        .join(
            PlantNameRow,
            PlantNameRow.id == func.coalesce(LinerLot.plant_name_id, Batch.plant_name_id),
        )
        .where(
            BenchStay.from_on <= on,
            or_(BenchStay.to_on.is_(None), BenchStay.to_on > on),
            or_(LinerLotFacts.number > 0, LinerLotFacts.empty_on > on),
        )
        .order_by(LinerLot.running_number)
    )
    if bench_id is not None:
        query = query.where(BenchStay.bench_id == bench_id)
    return tuple(StoodLot(**row._mapping) for row in session.execute(query))


def list_lot_stays(session: Session, *, lot_id: int) -> tuple[BatchStay, ...]:
    """Return the stays of a lot, the first one first."""
    query = (
        select(
            BenchStay.bench_id,
            Bench.name.label("bench"),
            BenchStay.trays,
            BenchStay.from_on,
            BenchStay.to_on,
        )
        .join(Bench, Bench.id == BenchStay.bench_id)
        .where(BenchStay.liner_lot_id == lot_id)
        .order_by(BenchStay.from_on, BenchStay.id)
    )
    return tuple(BatchStay(**row._mapping) for row in session.execute(query))


def list_lot_stands(session: Session, *, lot_id: int) -> tuple[Stand, ...]:
    """Return the stays of a lot that are going on: one, or none."""
    query = (
        select(
            BenchStay.id.label("stay_id"),
            BenchStay.bench_id,
            Bench.name.label("bench"),
            BenchStay.from_on,
            BenchStay.trays,
        )
        .join(Bench, Bench.id == BenchStay.bench_id)
        .where(BenchStay.liner_lot_id == lot_id, BenchStay.to_on.is_(None))
        .order_by(BenchStay.id)
    )
    return tuple(Stand(**row._mapping) for row in session.execute(query))
