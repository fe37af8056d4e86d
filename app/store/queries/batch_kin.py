"""Reading what a batch came from and what it led to."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.batch_rules import SOURCE_WORDS
from app.domain.batches import SourceKind
from app.store.models.batches import Batch, BatchSource
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant


@dataclass(frozen=True, kw_only=True)
class BatchSourceStory:
    """One line of where the cuttings came from; `code` and `plant` only of a stock plant."""

    kind: SourceKind
    code: str
    plant: str
    supplier: str
    lot: str
    passport: str
    condition: str
    place: str
    permitted_by: str
    permit: str
    number: int | None


@dataclass(frozen=True, kw_only=True)
class RestuckBatch:
    """A batch whose cuttings stood in another one before."""

    code: str
    stuck: int
    stuck_on: date


@dataclass(frozen=True, kw_only=True)
class RaisedStockPlant:
    """A stock plant that was raised from a batch."""

    code: str
    plants: int


@dataclass(frozen=True, kw_only=True)
class BatchIssue:
    """Everything a batch led to so far."""

    restuck: tuple[RestuckBatch, ...]
    stock_plants: tuple[RaisedStockPlant, ...]


def list_batch_sources(session: Session, *, batch_id: int) -> tuple[BatchSourceStory, ...]:
    """Return the lines of where a batch came from, in their order."""
    query = (
        select(BatchSource.__table__, StockPlant.code, PlantNameRow.plain)
        .outerjoin(StockPlant, StockPlant.id == BatchSource.stock_plant_id)
        .outerjoin(PlantNameRow, PlantNameRow.id == StockPlant.plant_name_id)
        .where(BatchSource.batch_id == batch_id)
        .order_by(BatchSource.position)
    )
    return tuple(
        BatchSourceStory(
            kind=SourceKind(row.kind),
            code=row.code or "",
            plant=row.plain or "",
            **{name: row._mapping[name] for name in SOURCE_WORDS},
            number=row.number,
        )
        for row in session.execute(query)
    )


def get_batch_issue(session: Session, *, batch_id: int) -> BatchIssue:
    """Return what a batch led to; void batches are left out."""
    restuck = (
        select(Batch.code, Batch.stuck, Batch.stuck_on)
        .where(Batch.restuck_from_id == batch_id, Batch.voided_at.is_(None))
        .order_by(Batch.stuck_on, Batch.id)
    )
    raised = (
        select(StockPlant.code, StockPlant.plants)
        .where(StockPlant.raised_from_id == batch_id)
        .order_by(StockPlant.number)
    )
    return BatchIssue(
        restuck=tuple(RestuckBatch(**row._mapping) for row in session.execute(restuck)),
        stock_plants=tuple(RaisedStockPlant(**row._mapping) for row in session.execute(raised)),
    )
