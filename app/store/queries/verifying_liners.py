"""Reading what is stored twice of liner lots; for `strikewell verify` alone."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Table, func, or_, select
from sqlalchemy.orm import Session, aliased

from app.store.models.batches import Batch
from app.store.models.liner_lots import LinerFacts, LinerLot, LinerLotFacts, LinerStage


@dataclass(frozen=True, kw_only=True)
class StoredLinerFacts:
    """The kept sums by lot and by batch, each as column and value."""

    lots: Mapping[int, Mapping[str, Any]]
    batches: Mapping[int, Mapping[str, Any]]


def read_liner_facts(session: Session) -> StoredLinerFacts:
    """Return every row of the kept sums."""
    return StoredLinerFacts(
        lots=_rows(session, LinerLotFacts, "liner_lot_id"),
        batches=_rows(session, LinerFacts, "batch_id"),
    )


def batch_codes(session: Session) -> Mapping[int, str]:
    """Return the code of every batch that a stage of liners is written down of."""
    stages = select(LinerStage.batch_id).where(LinerStage.batch_id.is_not(None))
    kept = select(LinerFacts.batch_id)
    query = select(Batch.id, Batch.code).where(or_(Batch.id.in_(stages), Batch.id.in_(kept)))
    return {row.id: row.code for row in session.execute(query)}


def list_lot_numbers(session: Session) -> tuple[tuple[int, str], ...]:
    """Return the running number and the code of every lot."""
    rows = session.execute(select(LinerLot.running_number, LinerLot.code).order_by(LinerLot.id))
    return tuple((row[0], row[1]) for row in rows)


def list_odd_liner_links(session: Session) -> tuple[tuple[str, str], ...]:
    """Return (record, what is odd) of lots that plants of another batch or plant went into."""
    return (*_void_batches(session), *_other_batches(session), *_other_plants(session))


def _void_batches(session: Session) -> tuple[tuple[str, str], ...]:
    query = (
        select(Batch.code)
        .join(LinerStage, LinerStage.batch_id == Batch.id)
        .where(Batch.voided_at.is_not(None), LinerStage.withdrawn == 0)
        .distinct()
    )
    said = "It is void, but something is written down after its rooting."
    return tuple((f"batch {code}", said) for code in session.scalars(query))


def _other_batches(session: Session) -> tuple[tuple[str, str], ...]:
    into, source = aliased(LinerLot), aliased(LinerLot)
    of_batch = func.coalesce(LinerStage.batch_id, source.batch_id)
    query = (
        select(into.code)
        .join(LinerStage, LinerStage.into_lot_id == into.id)
        .outerjoin(source, source.id == LinerStage.liner_lot_id)
        .where(
            LinerStage.withdrawn == 0,
            or_(
                (LinerStage.stage != "merged") & into.batch_id.is_distinct_from(of_batch),
                (LinerStage.stage == "merged") & into.batch_id.is_not(None),
            ),
        )
        .distinct()
    )
    said = "Plants of another batch went into it without a merge, or a merge into a batch's own."
    return tuple((f"liner lot {code}", said) for code in session.scalars(query))


def _other_plants(session: Session) -> tuple[tuple[str, str], ...]:
    into, source = aliased(LinerLot), aliased(LinerLot)
    plant = func.coalesce(source.plant_name_id, Batch.plant_name_id)
    query = (
        select(into.code)
        .join(LinerStage, LinerStage.into_lot_id == into.id)
        .join(source, source.id == LinerStage.liner_lot_id)
        .outerjoin(Batch, Batch.id == source.batch_id)
        .where(
            LinerStage.withdrawn == 0,
            LinerStage.stage == "merged",
            into.plant_name_id.is_distinct_from(plant),
        )
        .distinct()
    )
    said = "It was merged from lots of another plant name."
    return tuple((f"liner lot {code}", said) for code in session.scalars(query))


def _rows(session: Session, model: Any, key: str) -> dict[int, Mapping[str, Any]]:
    table: Table = model.__table__
    rows = session.execute(select(table))
    return {row._mapping[key]: dict(row._mapping) for row in rows}
