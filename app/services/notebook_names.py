"""Making the names that a notebook sheet brings along, each by the service of its own noun."""

from datetime import date, datetime

from sqlalchemy.orm import Session

from app.domain.codes import parse_stock_plant_code
from app.domain.notebook_names import NewNames, NewStockPlant
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.domain.stock_plants import StockPlantEntry
from app.services.benches import keep_bench
from app.services.containers import keep_container
from app.services.hormones import keep_hormone
from app.services.lost_causes import add_lost_cause
from app.services.mixes import keep_mix
from app.services.people import keep_person
from app.services.plant_names import keep_plant_name
from app.services.stock_plants import add_stock_plant, keep_stock_plant
from app.store.queries.plant_names import find_plant_name_id


def make_names(
    session: Session, *, actor: Actor | None, today: date, now: datetime, names: NewNames
) -> None:
    """Add every new name to the list it belongs to.

    Raises:
        NotAccepted: a name is not possible.
    """
    for plant_name in names.plants:
        keep_plant_name(session, actor=actor, now=now, name=plant_name)
    for keep, called in (
        (keep_bench, names.benches),
        (keep_mix, names.mixes),
        (keep_container, names.containers),
        (keep_person, names.people),
        (add_lost_cause, names.causes),
    ):
        for name in called:
            keep(session, actor=actor, now=now, name=name)
    for hormone in names.hormones:
        keep_hormone(session, hormone=hormone)
    for plant in names.stock_plants:
        _make_stock_plant(session, actor=actor, today=today, now=now, plant=plant)


def _make_stock_plant(
    session: Session, *, actor: Actor | None, today: date, now: datetime, plant: NewStockPlant
) -> None:
    """Add a stock plant under the code the sheet gives it; another name is kept as a reference."""
    plant_name_id = find_plant_name_id(session, plain=plant.plant)
    if plant_name_id is None:
        raise NotAccepted.at("stock_plant", f"The plant of {plant.name} is not in the log.")
    number = parse_stock_plant_code(plant.name)
    if number is not None:
        keep_stock_plant(
            session,
            actor=actor,
            today=today,
            now=now,
            number=number,
            plant_name_id=plant_name_id,
        )
        return
    entry = StockPlantEntry(plant_name_id=plant_name_id, supplier_reference=plant.name)
    add_stock_plant(session, actor=actor, today=today, now=now, entry=entry)
