"""Reading benches, in the order they are walked, and what stands on each."""

from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import ColumnElement, Row, Select, case, func, literal_column, select
from sqlalchemy.orm import Session

from app.domain.problems import NotFound
from app.store.models.batches import Batch, BatchFacts
from app.store.models.benches import Bench, BenchStay
from app.store.models.liner_lots import LinerLot, LinerLotFacts
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant

# Said literally, since only then does the database know that the partial index serves.
_OPEN: Final[ColumnElement[bool]] = literal_column("batch_facts.open") == literal_column("1")


@dataclass(frozen=True, kw_only=True)
class KnownBench:
    """A bench as it stands; `capacity_trays` is the room on it, None if not known."""

    id: int
    name: str
    walking_order: int
    capacity_trays: int | None
    notes: str
    closed: bool
    version: int


@dataclass(frozen=True, kw_only=True)
class LoadedBench:
    """A bench with how much stands on it: open batches, liner lots, their trays, stock plants.

    `trays` counts what is recorded in trays; a batch or lot without that counts as none.
    """

    bench: KnownBench
    batches: int
    trays: int
    stock_plants: int
    lots: int = 0

    @property
    def is_full(self) -> bool:
        """Whether more trays stand there than have room."""
        room = self.bench.capacity_trays
        return room is not None and self.trays > room


@dataclass(frozen=True, kw_only=True)
class StandingStockPlant:
    """A stock plant on a bench."""

    code: str
    plant: str
    plants: int


def find_bench_id(session: Session, *, name: str) -> int | None:
    """Return the id of the bench of this name, whatever its capitals; None if there is none."""
    query = select(Bench.id).where(func.lower(Bench.name) == " ".join(name.split()).lower())
    return session.scalar(query.limit(1))


def has_bench(session: Session, *, bench_id: int) -> bool:
    """Return whether there is a bench with this id."""
    return session.scalar(select(Bench.id).where(Bench.id == bench_id)) is not None


def list_benches(session: Session, *, closed: bool = False) -> tuple[KnownBench, ...]:
    """Return the benches in use in walking order; with `closed` also the others, after them."""
    query = _benches()
    if not closed:
        query = query.where(Bench.closed_at.is_(None))
    return tuple(_known(row) for row in session.execute(query))


def get_bench(session: Session, *, bench_id: int) -> KnownBench:
    """Return one bench.

    Raises:
        NotFound: there is none with this id.
    """
    row = session.execute(_benches().where(Bench.id == bench_id)).one_or_none()
    if row is None:
        raise NotFound("There is no such bench.")
    return _known(row)


def list_loaded_benches(session: Session) -> tuple[LoadedBench, ...]:
    """Return every bench in walking order with what stands on it, closed ones last."""
    batches, trays = _loads(session)
    by_plant = (
        select(BenchStay.bench_id, func.count().label("plants"))
        .join(StockPlant, StockPlant.id == BenchStay.stock_plant_id)
        .where(BenchStay.to_on.is_(None), StockPlant.discarded_on.is_(None))
        .group_by(BenchStay.bench_id)
    )
    plants = {row.bench_id: row.plants for row in session.execute(by_plant)}
    by_lot = (
        select(
            BenchStay.bench_id,
            func.count().label("lots"),
            func.coalesce(func.sum(LinerLot.trays), 0).label("trays"),
        )
        .join(LinerLot, LinerLot.id == BenchStay.liner_lot_id)
        .join(LinerLotFacts, LinerLotFacts.liner_lot_id == LinerLot.id)
        .where(BenchStay.to_on.is_(None), LinerLotFacts.number > 0)
        .group_by(BenchStay.bench_id)
    )
    lots = {row.bench_id: (row.lots, row.trays) for row in session.execute(by_lot)}
    return tuple(
        LoadedBench(
            bench=bench,
            batches=len(batches[bench.id]),
            trays=trays[bench.id] + lots.get(bench.id, (0, 0))[1],
            stock_plants=plants.get(bench.id, 0),
            lots=lots.get(bench.id, (0, 0))[0],
        )
        for bench in list_benches(session, closed=True)
    )


def list_standing_stock_plants(
    session: Session, *, bench_id: int
) -> tuple[StandingStockPlant, ...]:
    """Return the stock plants standing on a bench now, by code."""
    query = (
        select(StockPlant.code, PlantNameRow.plain.label("plant"), StockPlant.plants)
        .join(BenchStay, BenchStay.stock_plant_id == StockPlant.id)
        .join(PlantNameRow, PlantNameRow.id == StockPlant.plant_name_id)
        .where(
            BenchStay.bench_id == bench_id,
            BenchStay.to_on.is_(None),
            StockPlant.discarded_on.is_(None),
        )
        .order_by(StockPlant.number)
    )
    return tuple(StandingStockPlant(**row._mapping) for row in session.execute(query))


def what_stands_on(session: Session, *, bench_id: int) -> tuple[str, ...]:
    """Return the codes of the open batches, stock plants and liner lots on a bench."""
    batches = (
        select(Batch.code)
        .join(BenchStay, BenchStay.batch_id == Batch.id)
        .where(
            BenchStay.bench_id == bench_id,
            BenchStay.to_on.is_(None),
            BenchStay.batch_id.in_(_open_batches()),
        )
        .order_by(Batch.year, Batch.number)
        .distinct()
    )
    plants = list_standing_stock_plants(session, bench_id=bench_id)
    lots = (
        select(LinerLot.code)
        .join(BenchStay, BenchStay.liner_lot_id == LinerLot.id)
        .join(LinerLotFacts, LinerLotFacts.liner_lot_id == LinerLot.id)
        .where(BenchStay.bench_id == bench_id, BenchStay.to_on.is_(None), LinerLotFacts.number > 0)
        .order_by(LinerLot.running_number)
    )
    return (
        *session.scalars(batches),
        *(plant.code for plant in plants),
        *session.scalars(lots),
    )


def _loads(session: Session) -> tuple[defaultdict[int, set[int]], Counter[int]]:
    """Return by bench the open batches on it and the sum of their trays.

    Summed up here: asked to group by bench, the database walks along every stay there ever was.
    """
    query = (
        select(
            BenchStay.bench_id,
            BenchStay.batch_id,
            func.coalesce(BenchStay.trays, Batch.trays, 0).label("trays"),
        )
        .join(Batch, Batch.id == BenchStay.batch_id)
        .where(BenchStay.to_on.is_(None), BenchStay.batch_id.in_(_open_batches()))
    )
    batches: defaultdict[int, set[int]] = defaultdict(set)
    trays: Counter[int] = Counter()
    for row in session.execute(query):
        batches[row.bench_id].add(row.batch_id)
        trays[row.bench_id] += row.trays
    return batches, trays


def _open_batches() -> Select[*tuple[Any, ...]]:
    """Return the ids of the open batches: few, whatever the number of cleared ones."""
    return select(BatchFacts.batch_id).where(_OPEN)


def _benches() -> Select[*tuple[Any, ...]]:
    in_use_first = case((Bench.closed_at.is_(None), 0), else_=1)
    return select(Bench.__table__).order_by(in_use_first, Bench.walking_order, Bench.name)


def _known(row: Row[*tuple[Any, ...]]) -> KnownBench:
    return KnownBench(
        id=row.id,
        name=row.name,
        walking_order=row.walking_order,
        capacity_trays=row.capacity_trays,
        notes=row.notes,
        closed=row.closed_at is not None,
        version=row.version,
    )
