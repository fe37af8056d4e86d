"""Reading what the state of stock plants rests on, for every list, page and plan alike."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any, Final

from sqlalchemy import Row, ScalarSelect, func, select
from sqlalchemy.orm import Session

from app.domain.source_plants import Moment
from app.domain.stock_plant_events import PlantEvent
from app.domain.stock_plant_states import StateFacts, state_on
from app.domain.stock_plants import StateToday, StockPlantState
from app.store.models.batches import Batch, BatchSource
from app.store.models.stock_plants import StockPlant
from app.store.queries.stock_plant_events import findings_by_plant


def last_cut_column() -> ScalarSelect[date]:
    """Return the column, beside `stock_plants`, of the day each was last cut; NULL for never."""
    cut_on = func.max(func.coalesce(Batch.taken_on, Batch.stuck_on), type_=Batch.stuck_on.type)
    return (
        select(cut_on)
        .join(BatchSource, BatchSource.batch_id == Batch.id)
        .where(BatchSource.stock_plant_id == StockPlant.id, Batch.voided_at.is_(None))
        .correlate(StockPlant)
        .scalar_subquery()
    )


STATE_COLUMNS: Final = (
    StockPlant.id,
    StockPlant.state,
    StockPlant.state_reason,
    StockPlant.rest_weeks,
    StockPlant.cut_back_on,
    StockPlant.renew_by,
    StockPlant.tested_until,
    StockPlant.true_to_type_on,
    StockPlant.reentry_at,
    last_cut_column().label("last_cut_on"),
)
"""What a query of stock plants selects, so that `states_of` can tell how each stands."""


def state_facts(row: Row[*tuple[Any, ...]], *, events: tuple[PlantEvent, ...] = ()) -> StateFacts:
    """Return what the state of a plant rests on; `row` has the columns of STATE_COLUMNS."""
    return StateFacts(
        set_state=StockPlantState(row.state),
        set_reason=row.state_reason,
        rest_weeks=row.rest_weeks,
        last_cut_on=row.last_cut_on,
        cut_back_on=row.cut_back_on,
        renew_by=row.renew_by,
        tested_until=row.tested_until,
        true_to_type_on=row.true_to_type_on,
        reentry_at=row.reentry_at,
        events=events,
    )


def states_of(
    session: Session,
    *,
    rows: Sequence[Row[*tuple[Any, ...]]],
    on: date,
    moment: Moment | None = None,
    rested: bool = False,
) -> Mapping[int, StateToday]:
    """Return how the plants of these rows stand on a day, by their id.

    Without a moment a re-entry time that runs is not asked about. With `rested` the weeks of rest
    after a cut are taken to be over.
    """
    found = findings_by_plant(session, stock_plant_ids=[row.id for row in rows])
    states = {}
    for row in rows:
        facts = state_facts(row, events=found.get(row.id, ()))
        asked = replace(facts, rest_weeks=None) if rested else facts
        states[row.id] = state_on(on, facts=asked, moment=moment)
    return states
