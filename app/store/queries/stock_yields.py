"""Reading what the stock plants of a name give: plants, rests, and cuttings at each cut."""

from datetime import date
from statistics import fmean
from typing import Any, Final

from sqlalchemy import ColumnElement, Row, select
from sqlalchemy.orm import Session

from app.domain.stock_needs import StockYield
from app.domain.stock_plants import StockPlantState, state_on
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant
from app.store.queries.stock_plant_cuts import list_cutting_days
from app.store.queries.stock_plants import last_cut_column

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
            StockPlant.id,
            StockPlant.plants,
            StockPlant.state,
            StockPlant.rest_weeks,
            StockPlant.expected_per_plant,
            last_cut_column().label("last_cut_on"),
        )
        .join(PlantNameRow, PlantNameRow.id == StockPlant.plant_name_id)
        .where(of_it, StockPlant.state != StockPlantState.DISCARDED.value)
        .order_by(StockPlant.number)
    ).all()
    expected = [row.expected_per_plant for row in rows if row.expected_per_plant is not None]
    rests = [row.rest_weeks for row in rows if row.rest_weeks is not None]
    return StockYield(
        plants=sum(row.plants for row in rows),
        fit=sum(row.plants for row in rows if _is_fit(row, on=on)),
        cuts=tuple(cut for row in rows for cut in _cuts(session, row)),
        expected=fmean(expected) if expected else None,
        rest_weeks=max(rests, default=None),
    )


def _is_fit(row: Row[*tuple[Any, ...]], *, on: date) -> bool:
    standing = state_on(
        on,
        state=StockPlantState(row.state),
        rest_weeks=row.rest_weeks,
        last_cut_on=row.last_cut_on,
    )
    return standing.state in _CUT_FROM


def _cuts(session: Session, row: Row[*tuple[Any, ...]]) -> list[float]:
    """Return cuttings per plant at each cut, by the number of plants there are now."""
    days: Any = list_cutting_days(session, stock_plant_id=row.id)
    return [day.number / row.plants for day in days if day.number and row.plants]
