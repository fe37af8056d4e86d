"""Reading treatments: the list, one, what they reached, and whose re-entry time runs."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import ColumnElement, Row, Select, and_, exists, func, or_, select
from sqlalchemy.orm import Session, aliased

from app.domain.codes import parse_treatment_code, treatment_code
from app.domain.problems import NotFound
from app.store.models.batches import Batch, BatchFacts
from app.store.models.benches import Bench, BenchStay
from app.store.models.liner_lots import LinerLot, LinerLotFacts
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant
from app.store.models.treatments import (
    Treatment,
    TreatmentBatch,
    TreatmentBench,
    TreatmentStockPlant,
)


@dataclass(frozen=True, kw_only=True)
class KnownTreatment:
    """A treatment with the names it leans on; `benches` in walking order."""

    id: int
    number: int
    kind: str
    what: str
    rate: str
    target: str
    way: str
    begun_at: datetime
    begun_on: date
    reentry_at: datetime | None
    by: str
    recorded_by: str
    recorded_by_id: int | None
    made_at: datetime
    notes: str
    withdrawn_at: datetime | None
    withdrawn_by: str
    withdraw_reason: str
    benches: tuple[str, ...]
    bench_ids: tuple[int, ...]

    @property
    def code(self) -> str:
        """Its code, such as "T-0007"."""
        return treatment_code(self.number)

    @property
    def where(self) -> str:
        """Its benches in words, "" where none is named."""
        return ", ".join(self.benches)


@dataclass(frozen=True, kw_only=True)
class Reached:
    """A batch, stock plant or liner lot that a treatment reached; `chosen` if named by itself."""

    code: str
    plant: str
    chosen: bool


@dataclass(frozen=True, kw_only=True)
class ReachedByTreatment:
    """Everything a treatment reached, by code."""

    batches: tuple[Reached, ...]
    stock_plants: tuple[Reached, ...]
    lots: tuple[Reached, ...]


def list_treatments(
    session: Session, *, kind: str = "", before: int | None = None, limit: int = 50
) -> tuple[KnownTreatment, ...]:
    """Return treatments, the last entered first, also withdrawn ones; those below number `before`.

    One more than `limit` may come, to tell that there are others.
    """
    query = _treatments().order_by(Treatment.number.desc()).limit(limit + 1)
    if kind:
        query = query.where(Treatment.kind == kind)
    if before is not None:
        query = query.where(Treatment.number < before)
    return _known(session, session.execute(query).all())


def get_treatment(session: Session, *, code: str) -> KnownTreatment:
    """Return one treatment by its code.

    Raises:
        NotFound: there is none with this code.
    """
    query = _treatments().where(Treatment.number == (parse_treatment_code(code) or 0))
    found = _known(session, session.execute(query).all())
    if not found:
        raise NotFound(f"There is no treatment {code}. Its code is like T-0001.")
    return found[0]


def list_treatments_on_bench(
    session: Session, *, bench_id: int, limit: int = 20
) -> tuple[KnownTreatment, ...]:
    """Return what was done on a bench, the newest first; withdrawn ones are left out."""
    on_bench = exists().where(
        TreatmentBench.treatment_id == Treatment.id, TreatmentBench.bench_id == bench_id
    )
    return _reaching(session, on_bench, limit=limit)


def list_treatments_of_batch(
    session: Session, *, batch_id: int, limit: int = 100
) -> tuple[KnownTreatment, ...]:
    """Return what reached a batch, the newest first: named, or standing there on the day."""
    named = exists().where(
        TreatmentBatch.treatment_id == Treatment.id, TreatmentBatch.batch_id == batch_id
    )
    stood = and_(
        _stood(BenchStay.batch_id == batch_id),
        exists().where(BatchFacts.batch_id == batch_id, _still_stood(Treatment.begun_on)),
    )
    return _reaching(session, or_(named, stood), limit=limit)


def list_treatments_of_stock_plant(
    session: Session, *, stock_plant_id: int, limit: int = 100
) -> tuple[KnownTreatment, ...]:
    """Return what reached a stock plant, the newest first: named, or standing there."""
    named = exists().where(
        TreatmentStockPlant.treatment_id == Treatment.id,
        TreatmentStockPlant.stock_plant_id == stock_plant_id,
    )
    stood = _stood(BenchStay.stock_plant_id == stock_plant_id)
    return _reaching(session, or_(named, stood), limit=limit)


def list_treatments_of_lot(
    session: Session, *, lot_id: int, limit: int = 100
) -> tuple[KnownTreatment, ...]:
    """Return what reached a liner lot where it stood, the newest first."""
    stood = and_(
        _stood(BenchStay.liner_lot_id == lot_id),
        exists().where(LinerLotFacts.liner_lot_id == lot_id, _lot_still_stood(Treatment.begun_on)),
    )
    return _reaching(session, stood, limit=limit)


def list_running(session: Session, *, now: datetime) -> tuple[KnownTreatment, ...]:
    """Return the treatments whose re-entry time has not come, the latest re-entry first."""
    query = (
        _treatments()
        .where(Treatment.withdrawn_at.is_(None), Treatment.reentry_at > now)
        .order_by(Treatment.reentry_at.desc(), Treatment.number)
    )
    return _known(session, session.execute(query).all())


def get_reached(session: Session, *, treatment: KnownTreatment) -> ReachedByTreatment:
    """Return the batches, stock plants and liner lots that a treatment reached."""
    return ReachedByTreatment(
        batches=_batches_reached(session, treatment),
        stock_plants=_stock_plants_reached(session, treatment),
        lots=_lots_reached(session, treatment),
    )


def _batches_reached(session: Session, treatment: KnownTreatment) -> tuple[Reached, ...]:
    named = set(
        session.scalars(
            select(TreatmentBatch.batch_id).where(TreatmentBatch.treatment_id == treatment.id)
        )
    )
    stood = (
        select(BenchStay.batch_id)
        .join(BatchFacts, BatchFacts.batch_id == BenchStay.batch_id)
        .where(
            BenchStay.bench_id.in_(treatment.bench_ids),
            BenchStay.from_on <= treatment.begun_on,
            or_(BenchStay.to_on.is_(None), BenchStay.to_on >= treatment.begun_on),
            _still_stood(treatment.begun_on),
        )
    )
    query = (
        select(Batch.id, Batch.code, PlantNameRow.plain)
        .join(PlantNameRow, PlantNameRow.id == Batch.plant_name_id)
        .where(or_(Batch.id.in_(named), Batch.id.in_(stood)), Batch.voided_at.is_(None))
        .order_by(Batch.year, Batch.number)
    )
    return tuple(
        Reached(code=row.code, plant=row.plain, chosen=row.id in named)
        for row in session.execute(query)
    )


def _lots_reached(session: Session, treatment: KnownTreatment) -> tuple[Reached, ...]:
    day = treatment.begun_on
    stood = select(BenchStay.liner_lot_id).where(
        BenchStay.bench_id.in_(treatment.bench_ids),
        BenchStay.from_on <= day,
        or_(BenchStay.to_on.is_(None), BenchStay.to_on >= day),
    )
    query = (
        select(LinerLot.code, PlantNameRow.plain)
        .join(LinerLotFacts, LinerLotFacts.liner_lot_id == LinerLot.id)
        .outerjoin(Batch, Batch.id == LinerLot.batch_id)
        .join(
            PlantNameRow,
            PlantNameRow.id == func.coalesce(LinerLot.plant_name_id, Batch.plant_name_id),
        )
        .where(LinerLot.id.in_(stood), _lot_still_stood(day))
        .order_by(LinerLot.running_number)
    )
    rows = session.execute(query)
    return tuple(Reached(code=row.code, plant=row.plain, chosen=False) for row in rows)


def _stock_plants_reached(session: Session, treatment: KnownTreatment) -> tuple[Reached, ...]:
    query = (
        select(StockPlant.code, PlantNameRow.plain, TreatmentStockPlant.chosen)
        .join(TreatmentStockPlant, TreatmentStockPlant.stock_plant_id == StockPlant.id)
        .join(PlantNameRow, PlantNameRow.id == StockPlant.plant_name_id)
        .where(TreatmentStockPlant.treatment_id == treatment.id)
        .order_by(StockPlant.number)
    )
    return tuple(
        Reached(code=row.code, plant=row.plain, chosen=bool(row.chosen))
        for row in session.execute(query)
    )


def stock_plants_standing(
    session: Session, *, bench_ids: Iterable[int], on: date
) -> tuple[int, ...]:
    """Return the ids of the stock plants that stood on any of these benches on a day."""
    query = (
        select(BenchStay.stock_plant_id)
        .join(StockPlant, StockPlant.id == BenchStay.stock_plant_id)
        .where(
            BenchStay.bench_id.in_(list(bench_ids)),
            BenchStay.from_on <= on,
            or_(BenchStay.to_on.is_(None), BenchStay.to_on >= on),
        )
        .distinct()
    )
    return tuple(plant_id for plant_id in session.scalars(query) if plant_id is not None)


def _reaching(
    session: Session, condition: ColumnElement[bool], *, limit: int
) -> tuple[KnownTreatment, ...]:
    query = (
        _treatments()
        .where(condition, Treatment.withdrawn_at.is_(None))
        .order_by(Treatment.begun_at.desc(), Treatment.number.desc())
        .limit(limit)
    )
    return _known(session, session.execute(query).all())


def _stood(whose: ColumnElement[bool]) -> ColumnElement[bool]:
    """Return whether it stood on a bench of the treatment on its day, days of a move included."""
    return exists().where(
        whose,
        TreatmentBench.treatment_id == Treatment.id,
        TreatmentBench.bench_id == BenchStay.bench_id,
        BenchStay.from_on <= Treatment.begun_on,
        or_(BenchStay.to_on.is_(None), BenchStay.to_on >= Treatment.begun_on),
    )


def _still_stood(day: Any) -> ColumnElement[bool]:
    """Return whether something of a batch was left on a day, that of its last count included.

    A batch keeps its stay when nothing of it is unrooted any more.
    """
    return or_(BatchFacts.open == 1, BatchFacts.counted_on >= day)


def _lot_still_stood(day: Any) -> ColumnElement[bool]:
    """Return whether plants were in a lot on a day, that on which the last one left included."""
    return and_(
        LinerLotFacts.began_on <= day,
        or_(LinerLotFacts.number > 0, LinerLotFacts.empty_on >= day),
    )


def _treatments() -> Select[*tuple[Any, ...]]:
    by, recorded, withdrawn = aliased(Person), aliased(Person), aliased(Person)
    return (
        select(
            Treatment.__table__,
            by.name.label("by"),
            recorded.name.label("recorded_by"),
            withdrawn.name.label("withdrawn_by"),
        )
        .select_from(Treatment)
        .outerjoin(by, by.id == Treatment.by_id)
        .outerjoin(recorded, recorded.id == Treatment.recorded_by_id)
        .outerjoin(withdrawn, withdrawn.id == Treatment.withdrawn_by_id)
    )


def _known(session: Session, rows: Iterable[Row[*tuple[Any, ...]]]) -> tuple[KnownTreatment, ...]:
    found = tuple(rows)
    benches = _benches(session, [row.id for row in found])
    own = ("by", "recorded_by", "withdrawn_by", "benches", "bench_ids")
    columns = [name for name in KnownTreatment.__dataclass_fields__ if name not in own]
    return tuple(
        KnownTreatment(
            **{name: getattr(row, name) for name in columns},
            by=row.by or "",
            recorded_by=row.recorded_by or "",
            withdrawn_by=row.withdrawn_by or "",
            benches=tuple(name for _, name in benches.get(row.id, ())),
            bench_ids=tuple(bench_id for bench_id, _ in benches.get(row.id, ())),
        )
        for row in found
    )


def _benches(session: Session, ids: list[int]) -> Mapping[int, list[tuple[int, str]]]:
    query = (
        select(TreatmentBench.treatment_id, Bench.id, Bench.name)
        .join(Bench, Bench.id == TreatmentBench.bench_id)
        .where(TreatmentBench.treatment_id.in_(ids))
        .order_by(Bench.walking_order, Bench.name)
    )
    found: dict[int, list[tuple[int, str]]] = {}
    for treatment_id, bench_id, name in session.execute(query):
        found.setdefault(treatment_id, []).append((bench_id, name))
    return found
