"""Reading what may be in season: cards, kept stock plants with how they stand, open orders."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import Row, Select, select
from sqlalchemy.orm import Session

from app.domain.in_season import CardInSeason, KeptStock, WantedPlants
from app.domain.stock_plants import StateToday, StockPlantState
from app.domain.treatments import is_running
from app.store.models.genera import Genus
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant
from app.store.queries.method_cards import list_cards
from app.store.queries.orders import list_open_orders, stuck_by_order
from app.store.queries.stock_plant_states import STATE_COLUMNS, states_of


def list_cards_with_months(session: Session) -> tuple[CardInSeason, ...]:
    """Return the cards in use that name months."""
    return tuple(
        CardInSeason(
            card_id=card.id,
            genus=card.genus,
            species=card.species,
            cutting_type=card.cutting_type,
            months=card.values.months,
            plant_name=card.plant_name,
        )
        for card in list_cards(session)
        if not card.retired and card.values.months
    )


def list_kept_stock(session: Session, *, on: date, now: datetime) -> tuple[KeptStock, ...]:
    """Return the stock plants that are kept, by code, as they stand on a day and at an instant."""
    rows = session.execute(_kept()).all()
    standing = states_of(session, rows=rows, on=on)
    return tuple(_stock(row, standing=standing[row.id], now=now) for row in rows)


def list_wanted_plants(session: Session) -> tuple[WantedPlants, ...]:
    """Return the open orders with what is stuck for them, by the day they are due."""
    orders = list_open_orders(session)
    stuck = stuck_by_order(session, order_ids=[order.id for order in orders])
    return tuple(
        WantedPlants(
            number=order.number,
            plant=order.plant,
            genus=order.genus,
            species=order.species,
            plants=order.entry.plants,
            due_on=order.entry.due_on,
            stuck=stuck[order.id],
            whole_genus=order.whole_genus,
            cutting_type=order.entry.cutting_type,
        )
        for order in orders
    )


def _kept() -> Select[*tuple[Any, ...]]:
    return (
        select(
            *STATE_COLUMNS,
            StockPlant.code,
            StockPlant.plants,
            StockPlant.expected_per_plant,
            PlantNameRow.plain.label("plant"),
            PlantNameRow.species,
            Genus.name.label("genus"),
        )
        .join(PlantNameRow, PlantNameRow.id == StockPlant.plant_name_id)
        .join(Genus, Genus.id == PlantNameRow.genus_id)
        .where(StockPlant.state != StockPlantState.DISCARDED.value)
        .order_by(StockPlant.number)
    )


def _stock(row: Row[*tuple[Any, ...]], *, standing: StateToday, now: datetime) -> KeptStock:
    return KeptStock(
        code=row.code,
        plant=row.plant,
        genus=row.genus,
        species=row.species,
        plants=row.plants,
        per_plant=row.expected_per_plant,
        keep_out_until=row.reentry_at if is_running(row.reentry_at, now=now) else None,
        standing=standing,
    )
