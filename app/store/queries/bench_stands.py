"""Reading what stood where on any day, and how full that made the benches."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Select, and_, func, literal_column, or_, select
from sqlalchemy.orm import Session

from app.domain.bench_loads import BenchLoad
from app.store.models.batches import Batch, BatchFacts
from app.store.models.benches import Bench, BenchPlace, BenchStay
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant
from app.store.queries.bench_lots import StoodLot, list_stood_lots
from app.store.queries.benches import KnownBench, list_benches

_UNPLACED = 1_000_000


@dataclass(frozen=True, kw_only=True)
class Stood:
    """A batch, or so many of its trays, on a bench on a day; `trays` None where not recorded."""

    batch_id: int
    bench_id: int
    code: str
    plant: str
    trays: int | None
    stuck: int
    stuck_on: date
    from_on: date
    to_on: date | None


@dataclass(frozen=True, kw_only=True)
class StoodStockPlant:
    """A stock plant on a bench on a day."""

    bench_id: int
    code: str
    plant: str


@dataclass(frozen=True, kw_only=True)
class BenchOnDay:
    """A bench with what stood there on a day, in the order it stands, and how full that made it."""

    bench: KnownBench
    batches: tuple[Stood, ...]
    stock_plants: tuple[StoodStockPlant, ...]
    lots: tuple[StoodLot, ...] = ()

    @property
    def load(self) -> BenchLoad:
        """How full it was."""
        return load_of(self.batches, lots=self.lots, room=self.bench.capacity_trays)


def load_of(
    batches: Sequence[Stood], *, room: int | None, lots: Sequence[StoodLot] = ()
) -> BenchLoad:
    """Return how full batches and liner lots make a bench with so much room."""
    return BenchLoad(
        trays=sum(batch.trays or 0 for batch in batches) + sum(lot.trays or 0 for lot in lots),
        room=room,
        uncounted=sum(batch.trays is None for batch in batches),
        uncounted_lots=sum(lot.trays is None for lot in lots),
    )


def list_stood(
    session: Session, *, on: date, today: date, bench_id: int | None = None
) -> tuple[Stood, ...]:
    """Return the batches that stood on the benches on a day, in the order they stand.

    A batch stands until it is moved, or until nothing of it is unrooted. On the day of a move it
    stands on the new bench.
    """
    query = (
        select(
            BenchStay.batch_id,
            BenchStay.bench_id,
            Batch.code,
            PlantNameRow.plain.label("plant"),
            func.coalesce(BenchStay.trays, Batch.trays).label("trays"),
            Batch.stuck,
            Batch.stuck_on,
            BenchStay.from_on,
            BenchStay.to_on,
        )
        .join(Batch, Batch.id == BenchStay.batch_id)
        .join(BatchFacts, BatchFacts.batch_id == Batch.id)
        .join(PlantNameRow, PlantNameRow.id == Batch.plant_name_id)
        .outerjoin(
            BenchPlace,
            and_(
                BenchPlace.bench_id == BenchStay.bench_id,
                BenchPlace.batch_id == BenchStay.batch_id,
            ),
        )
        .order_by(
            func.coalesce(BenchPlace.position, _UNPLACED), Batch.year, Batch.number, BenchStay.id
        )
    )
    query = _on_day(query, on=on, today=today)
    if bench_id is not None:
        query = query.where(BenchStay.bench_id == bench_id)
    return tuple(Stood(**row._mapping) for row in session.execute(query))


def list_stood_stock_plants(
    session: Session, *, on: date, bench_id: int | None = None
) -> tuple[StoodStockPlant, ...]:
    """Return the stock plants that stood on the benches on a day, by code."""
    query = (
        select(BenchStay.bench_id, StockPlant.code, PlantNameRow.plain.label("plant"))
        .join(StockPlant, StockPlant.id == BenchStay.stock_plant_id)
        .join(PlantNameRow, PlantNameRow.id == StockPlant.plant_name_id)
        .where(
            BenchStay.from_on <= on,
            or_(BenchStay.to_on.is_(None), BenchStay.to_on > on),
            or_(StockPlant.discarded_on.is_(None), StockPlant.discarded_on > on),
        )
        .order_by(StockPlant.number)
    )
    if bench_id is not None:
        query = query.where(BenchStay.bench_id == bench_id)
    return tuple(StoodStockPlant(**row._mapping) for row in session.execute(query))


def list_house(session: Session, *, on: date, today: date) -> tuple[BenchOnDay, ...]:
    """Return every bench in walking order with what stood there on a day.

    Benches closed since are left out unless something stood there.
    """
    batches: dict[int, list[Stood]] = {}
    for one in list_stood(session, on=on, today=today):
        batches.setdefault(one.bench_id, []).append(one)
    plants: dict[int, list[StoodStockPlant]] = {}
    for plant in list_stood_stock_plants(session, on=on):
        plants.setdefault(plant.bench_id, []).append(plant)
    lots: dict[int, list[StoodLot]] = {}
    for lot in list_stood_lots(session, on=on):
        lots.setdefault(lot.bench_id, []).append(lot)
    return tuple(
        BenchOnDay(
            bench=bench,
            batches=tuple(batches.get(bench.id, ())),
            stock_plants=tuple(plants.get(bench.id, ())),
            lots=tuple(lots.get(bench.id, ())),
        )
        for bench in list_benches(session, closed=True)
        if not bench.closed or bench.id in {*batches, *plants, *lots}
    )


def get_bench_load(session: Session, *, bench_id: int, on: date) -> BenchLoad:
    """Return how full a bench is on the present day, `on`."""
    room = session.scalar(select(Bench.capacity_trays).where(Bench.id == bench_id))
    batches = list_stood(session, on=on, today=on, bench_id=bench_id)
    lots = list_stood_lots(session, on=on, bench_id=bench_id)
    return load_of(batches, lots=lots, room=room)


def _on_day(query: Select[*tuple[Any, ...]], *, on: date, today: date) -> Select[*tuple[Any, ...]]:
    if on >= today:
        # The few that stand now, by the partial indexes, whatever was cleared in all the years.
        return query.where(
            BenchStay.to_on.is_(None), literal_column("batch_facts.open") == literal_column("1")
        )
    return query.where(
        BenchStay.from_on <= on,
        or_(BenchStay.to_on.is_(None), BenchStay.to_on > on),
        BatchFacts.voided == 0,
        or_(BatchFacts.open == 1, BatchFacts.counted_on > on),
    )
