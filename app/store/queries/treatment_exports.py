"""Treatments as they leave in a sheet: times by the nursery's clock, places by their names."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any, Final
from zoneinfo import ZoneInfo

from sqlalchemy import Select, select
from sqlalchemy.orm import Session, aliased

from app.store.models.batches import Batch
from app.store.models.benches import Bench
from app.store.models.meta import Meta
from app.store.models.people import Person
from app.store.models.stock_plants import StockPlant
from app.store.models.treatments import (
    Treatment,
    TreatmentBatch,
    TreatmentBench,
    TreatmentStockPlant,
)
from app.store.queries.exports import ExportTable, Texts, person_name

BETWEEN: Final = "; "
CLOCK: Final = "%Y-%m-%d %H:%M"


def _begun(session: Session, keys: Sequence[int]) -> Texts:
    return clock_texts(
        session, query=select(Treatment.id, Treatment.begun_at).where(Treatment.id.in_(keys))
    )


def _reentry(session: Session, keys: Sequence[int]) -> Texts:
    return clock_texts(
        session, query=select(Treatment.id, Treatment.reentry_at).where(Treatment.id.in_(keys))
    )


def _benches(session: Session, keys: Sequence[int]) -> Texts:
    query = (
        select(TreatmentBench.treatment_id, Bench.name)
        .join(Bench, Bench.id == TreatmentBench.bench_id)
        .where(TreatmentBench.treatment_id.in_(keys))
        .order_by(Bench.name)
    )
    return listed_texts(session, query=query)


def _batches(session: Session, keys: Sequence[int]) -> Texts:
    query = (
        select(TreatmentBatch.treatment_id, Batch.code)
        .join(Batch, Batch.id == TreatmentBatch.batch_id)
        .where(TreatmentBatch.treatment_id.in_(keys))
        .order_by(Batch.year, Batch.number)
    )
    return listed_texts(session, query=query)


def _stock_plants(session: Session, keys: Sequence[int]) -> Texts:
    query = (
        select(TreatmentStockPlant.treatment_id, StockPlant.code)
        .join(StockPlant, StockPlant.id == TreatmentStockPlant.stock_plant_id)
        .where(TreatmentStockPlant.treatment_id.in_(keys), TreatmentStockPlant.chosen == 1)
        .order_by(StockPlant.number)
    )
    return listed_texts(session, query=query)


def clock_texts(session: Session, *, query: Select[*tuple[Any, ...]]) -> Texts:
    """Return by key the instants of a query of (key, instant), by the nursery's clock."""
    zone = ZoneInfo(session.scalars(select(Meta.zone)).one())
    found: dict[int, str] = {}
    for treatment_id, at in session.execute(query):
        if isinstance(at, datetime):
            found[treatment_id] = at.astimezone(zone).strftime(CLOCK)
    return found


def listed_texts(session: Session, *, query: Select[*tuple[Any, ...]]) -> Texts:
    """Return by key the names of a query of (key, name), in one line in their order."""
    found: dict[int, list[str]] = {}
    for treatment_id, name in session.execute(query):
        found.setdefault(treatment_id, []).append(name)
    return {treatment_id: BETWEEN.join(names) for treatment_id, names in found.items()}


_done_by = aliased(Person)

TREATMENTS: Final = ExportTable(
    key=Treatment.id,
    columns={
        "treatment": Treatment.number,
        "kind": Treatment.kind,
        "what": Treatment.what,
        "rate": Treatment.rate,
        "target": Treatment.target,
        "way": Treatment.way,
        "by": person_name(_done_by),
        "withdrawn": Treatment.withdrawn_at.is_not(None),
        "withdraw_reason": Treatment.withdraw_reason,
        "note": Treatment.notes,
    },
    source=lambda query: query.select_from(Treatment).outerjoin(
        _done_by, _done_by.id == Treatment.by_id
    ),
    lists={
        "begun": _begun,
        "reentry": _reentry,
        "benches": _benches,
        "batches": _batches,
        "stock_plants": _stock_plants,
    },
)
