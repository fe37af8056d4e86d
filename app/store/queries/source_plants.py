"""Reading the stock plants that a batch is taken from, as the rules about them want to know."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlalchemy import ScalarSelect, Select, func, select
from sqlalchemy.orm import Session

from app.domain.batches import BatchEntry
from app.domain.source_plants import SourcePlant
from app.store.models.batches import Batch, BatchSource
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant
from app.store.models.treatments import Treatment, TreatmentStockPlant
from app.store.queries.stock_plant_states import last_cut_column, states_of


def list_source_plants(
    session: Session, *, entry: BatchEntry, but_batch_id: int | None = None
) -> tuple[SourcePlant, ...]:
    """Return the stock plants named in an entry, in its order; unknown ids are left out.

    `but_batch_id` is the batch being corrected: its own taking is not one before.
    """
    places = {
        line.stock_plant_id: place
        for place, line in enumerate(entry.sources)
        if line.stock_plant_id is not None
    }
    cut_before = _cut_before(session, list(places), but_batch_id=but_batch_id)
    taken_on = entry.taken_on or entry.stuck_on
    rows = session.execute(_named().where(StockPlant.id.in_(places))).all()
    states = states_of(session, rows=rows, on=taken_on, rested=True)
    found = [
        SourcePlant(
            place=places[row.id],
            code=row.code,
            name=row.plain,
            state=states[row.id].state.value,
            state_reason=states[row.id].reason,
            discarded_on=row.discarded_on,
            flowering=row.flowering,
            rest_weeks=row.rest_weeks,
            cut_before_on=cut_before.get(row.id),
            cut_back_on=row.cut_back_on,
            same_name=row.plant_name_id == entry.plant_name_id,
            reentry_at=row.reentry_at,
            treated_on=row.treated_on,
        )
        for row in rows
    ]
    return tuple(sorted(found, key=lambda plant: plant.place))


def _named() -> Select[*tuple[Any, ...]]:
    return select(
        StockPlant.__table__,
        PlantNameRow.plain,
        _treated_on().label("treated_on"),
        last_cut_column().label("last_cut_on"),
    ).join_from(StockPlant, PlantNameRow, PlantNameRow.id == StockPlant.plant_name_id)


def _treated_on() -> ScalarSelect[date]:
    """Return the day of the treatment that set a plant's re-entry time, NULL where none did."""
    return (
        select(func.min(Treatment.begun_on, type_=Treatment.begun_on.type))
        .join(TreatmentStockPlant, TreatmentStockPlant.treatment_id == Treatment.id)
        .where(
            TreatmentStockPlant.stock_plant_id == StockPlant.id,
            TreatmentStockPlant.counts == 1,
            Treatment.reentry_at == StockPlant.reentry_at,
        )
        .correlate(StockPlant)
        .scalar_subquery()
    )


def _cut_before(
    session: Session, stock_plant_ids: list[int], *, but_batch_id: int | None
) -> Mapping[int, date]:
    cut_on = func.max(func.coalesce(Batch.taken_on, Batch.stuck_on), type_=Batch.stuck_on.type)
    query = (
        select(BatchSource.stock_plant_id, cut_on)
        .join(Batch, Batch.id == BatchSource.batch_id)
        .where(BatchSource.stock_plant_id.in_(stock_plant_ids), Batch.voided_at.is_(None))
        .group_by(BatchSource.stock_plant_id)
    )
    if but_batch_id is not None:
        query = query.where(Batch.id != but_batch_id)
    return {row[0]: row[1] for row in session.execute(query) if row[0] is not None}
