"""Reading what the stock plants of a name give: plants, rests, and cuttings at each cut."""

from collections.abc import Iterator
from datetime import date
from statistics import fmean
from typing import Any, Final

from sqlalchemy import ColumnElement, Row, select
from sqlalchemy.orm import Session

from app.domain.stock_needs import StockYield
from app.domain.stock_plant_events import plants_on
from app.domain.stock_plants import StockPlantState
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant
from app.store.queries.stock_plant_cuts import list_cutting_days
from app.store.queries.stock_plant_events import counts_by_plant
from app.store.queries.stock_plant_states import STATE_COLUMNS, states_of

_CUT_FROM: Final = (StockPlantState.FIT, StockPlantState.WATCHED)


def read_stock_yield(
    session: Session, *, plant_name_id: int | None, genus_id: int, on: date
) -> StockYield:
    """Return what the kept stock plants of a name give, or of a whole genus without a name."""
    of_it: ColumnElement[bool] = (
        PlantNameRow.genus_id == genus_id
        if plant_name_id is None
        else StockPlant.plant_name_id == plant_name_id
    )
    rows = session.execute(
        select(
            *STATE_COLUMNS,
            StockPlant.plants,
            StockPlant.expected_per_plant,
        )
        .join(PlantNameRow, PlantNameRow.id == StockPlant.plant_name_id)
        .where(of_it, StockPlant.state != StockPlantState.DISCARDED.value)
        .order_by(StockPlant.number)
    ).all()
    expected = [row.expected_per_plant for row in rows if row.expected_per_plant is not None]
    rests = [row.rest_weeks for row in rows if row.rest_weeks is not None]
    states = states_of(session, rows=rows, on=on)
    rested = states_of(session, rows=rows, on=on, rested=True)
    counts = counts_by_plant(session, stock_plant_ids=[row.id for row in rows])
    return StockYield(
        plants=sum(row.plants for row in rows),
        fit=sum(row.plants for row in rows if states[row.id].state in _CUT_FROM),
        fit_after_rest=sum(row.plants for row in rows if rested[row.id].state in _CUT_FROM),
        cuts=tuple(
            cut for row in rows for cut in _cuts(session, row, counts=counts.get(row.id, ()))
        ),
        expected=fmean(expected) if expected else None,
        rest_weeks=max(rests, default=None),
    )


def _cuts(
    session: Session, row: Row[*tuple[Any, ...]], *, counts: tuple[tuple[date, int], ...]
) -> Iterator[float]:
    """Yield cuttings per plant at each cut, by the number of plants there were on its day."""
    for cut in list_cutting_days(session, stock_plant_id=row.id):
        plants = plants_on(cut.cut_on, counts=counts) or row.plants
        if cut.number and plants:
            yield cut.number / plants
