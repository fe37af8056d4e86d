"""Reading where things stand and what was done there, to be compared; for `verify` alone."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby
from typing import Any

from sqlalchemy import Select, func, null, select
from sqlalchemy.orm import Session

from app.domain.bench_stays import StayOnBench
from app.store.models.batches import Batch
from app.store.models.benches import BenchStay
from app.store.models.liner_lots import LinerLot
from app.store.models.mixes import MixLot
from app.store.models.stock_plants import StockPlant
from app.store.models.treatments import StockPlantReentry, Treatment, TreatmentStockPlant

CHUNK = 500


@dataclass(frozen=True, kw_only=True)
class StaysOfOne:
    """The stays of one batch, with how many trays it has, or of one stock plant."""

    code: str
    trays: int | None
    stays: tuple[StayOnBench, ...]


@dataclass(frozen=True, kw_only=True)
class TreatmentTimes:
    """When a treatment was begun, and how many stock plants it holds back."""

    number: int
    begun_at: datetime
    begun_on: date
    withdrawn: bool
    holding: int


@dataclass(frozen=True, kw_only=True)
class ReentryRest:
    """What a stock plant's re-entry time rests on, and what was written to it."""

    code: str
    own_at: datetime | None
    set_at: datetime | None
    treated_until: datetime | None


def iterate_batch_stays(session: Session) -> Iterator[StaysOfOne]:
    """Yield every batch that ever stood on a bench with its stays."""
    query = (
        select(BenchStay.from_on, BenchStay.to_on, BenchStay.trays, Batch.code, Batch.trays)
        .join(Batch, Batch.id == BenchStay.batch_id)
        .order_by(BenchStay.batch_id, BenchStay.from_on)
    )
    yield from _by_record(session, query)


def iterate_stock_plant_stays(session: Session) -> Iterator[StaysOfOne]:
    """Yield every stock plant that ever stood on a bench with its stays."""
    query = (
        select(BenchStay.from_on, BenchStay.to_on, BenchStay.trays, StockPlant.code, null())
        .join(StockPlant, StockPlant.id == BenchStay.stock_plant_id)
        .order_by(BenchStay.stock_plant_id, BenchStay.from_on)
    )
    yield from _by_record(session, query)


def iterate_lot_stays(session: Session) -> Iterator[StaysOfOne]:
    """Yield every liner lot that ever stood on a bench with its stays."""
    query = (
        select(BenchStay.from_on, BenchStay.to_on, BenchStay.trays, LinerLot.code, LinerLot.trays)
        .join(LinerLot, LinerLot.id == BenchStay.liner_lot_id)
        .order_by(BenchStay.liner_lot_id, BenchStay.from_on)
    )
    yield from _by_record(session, query)


def iterate_treatments(session: Session) -> Iterator[TreatmentTimes]:
    """Yield the times of every treatment, withdrawn ones too."""
    holding = (
        select(func.count())
        .where(TreatmentStockPlant.treatment_id == Treatment.id, TreatmentStockPlant.counts == 1)
        .scalar_subquery()
    )
    query = select(
        Treatment.number,
        Treatment.begun_at,
        Treatment.begun_on,
        Treatment.withdrawn_at.is_not(None).label("withdrawn"),
        holding.label("holding"),
    ).order_by(Treatment.number)
    for row in session.execute(query):
        yield TreatmentTimes(**row._mapping)


def iterate_reentries(session: Session) -> Iterator[ReentryRest]:
    """Yield what the re-entry times of stock plants rest on."""
    until = (
        select(func.max(Treatment.reentry_at, type_=Treatment.reentry_at.type))
        .join(TreatmentStockPlant, TreatmentStockPlant.treatment_id == Treatment.id)
        .where(
            TreatmentStockPlant.stock_plant_id == StockPlantReentry.stock_plant_id,
            TreatmentStockPlant.counts == 1,
        )
        .scalar_subquery()
    )
    query = select(
        StockPlant.code,
        StockPlantReentry.own_at,
        StockPlantReentry.set_at,
        until.label("treated_until"),
    ).join(StockPlant, StockPlant.id == StockPlantReentry.stock_plant_id)
    for row in session.execute(query):
        yield ReentryRest(**row._mapping)


def list_unlike_lot_mixes(session: Session) -> tuple[tuple[str, str], ...]:
    """Return (batch, mix lot) by code where the batch's recipe is not the one of its lot."""
    query = (
        select(Batch.code, MixLot.code)
        .join(MixLot, MixLot.id == Batch.mix_lot_id)
        .where(Batch.mix_version_id.is_distinct_from(MixLot.mix_version_id))
        .order_by(Batch.id)
    )
    return tuple((row[0], row[1]) for row in session.execute(query))


def _by_record(session: Session, query: Select[*tuple[Any, ...]]) -> Iterator[StaysOfOne]:
    rows = session.execute(query.execution_options(yield_per=CHUNK))
    for (code, of_all), found in groupby(rows, key=lambda row: (row[3], row[4])):
        stays = (StayOnBench(from_on=row[0], to_on=row[1], trays=row[2]) for row in found)
        yield StaysOfOne(code=code, trays=of_all, stays=tuple(stays))
