"""Reading what was taken from a stock plant, and what became of it."""

from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any

from sqlalchemy import Row, Select, func, select
from sqlalchemy.orm import Session, aliased

from app.domain.outcomes import Standing
from app.store.models.batches import Batch, BatchFacts, BatchSource
from app.store.models.plant_names import PlantNameRow


@dataclass(frozen=True, kw_only=True)
class TakenBatch:
    """A batch stuck with cuttings from the plant; `number` is how many, None if not recorded."""

    code: str
    plant: str
    stuck_on: date
    number: int | None
    standing: Standing
    cutting_type: str = ""


@dataclass(frozen=True, kw_only=True)
class CuttingDay:
    """What one day of cutting gave; `number` is the sum over the batches where it is recorded."""

    cut_on: date
    batches: tuple[TakenBatch, ...]

    @property
    def number(self) -> int | None:
        """How many cuttings, None where no batch says it."""
        known = [batch.number for batch in self.batches if batch.number is not None]
        return sum(known) if known else None


def list_cutting_days(session: Session, *, stock_plant_id: int) -> tuple[CuttingDay, ...]:
    """Return what was taken from a stock plant by day, the newest first; void batches left out.

    A batch from this plant alone counts with all that were taken for it, or else stuck.
    """
    rows = session.execute(_taken(stock_plant_id)).all()
    return tuple(
        CuttingDay(cut_on=day, batches=tuple(_batch(row) for row in of_day))
        for day, of_day in groupby(rows, key=lambda row: row.cut_on)
    )


def _taken(stock_plant_id: int) -> Select[*tuple[Any, ...]]:
    cut_on = func.coalesce(Batch.taken_on, Batch.stuck_on, type_=Batch.stuck_on.type)
    line = aliased(BatchSource)
    lines = select(func.count()).where(line.batch_id == Batch.id).correlate(Batch).scalar_subquery()
    return (
        select(
            BatchFacts.__table__,
            Batch.code,
            Batch.taken,
            PlantNameRow.plain.label("plant"),
            cut_on.label("cut_on"),
            BatchSource.number,
            lines.label("sources"),
            Batch.cutting_type,
        )
        .join(Batch, Batch.id == BatchFacts.batch_id)
        .join(BatchSource, BatchSource.batch_id == Batch.id)
        .join(PlantNameRow, PlantNameRow.id == Batch.plant_name_id)
        .where(BatchSource.stock_plant_id == stock_plant_id, BatchFacts.voided == 0)
        .order_by(cut_on.desc(), Batch.id.desc())
    )


def _batch(row: Row[*tuple[Any, ...]]) -> TakenBatch:
    from_here_alone = row.taken or row.stuck if row.sources == 1 else None
    return TakenBatch(
        code=row.code,
        plant=row.plant,
        stuck_on=row.stuck_on,
        number=row.number or from_here_alone,
        cutting_type=row.cutting_type,
        standing=Standing(
            stuck=row.stuck,
            rooted=row.rooted,
            lost=row.lost,
            dumped=row.dumped,
            cleared_unrooted=row.cleared_unrooted,
        ),
    )
