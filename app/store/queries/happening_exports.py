"""What happened by day, as it leaves in sheets: to stock plants."""

from typing import Final

from sqlalchemy.orm import aliased

from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plant_events import StockPlantEvent
from app.store.models.stock_plants import StockPlant
from app.store.queries.exports import ExportTable, person_name

_seen_by = aliased(Person)

STOCK_PLANT_DAYS: Final = ExportTable(
    key=StockPlantEvent.id,
    columns={
        "entry": StockPlantEvent.id,
        "stock_plant": StockPlant.code,
        "plant": PlantNameRow.plain,
        "kind": StockPlantEvent.kind,
        "happened_on": StockPlantEvent.happened_on,
        "by": person_name(_seen_by),
        "plants": StockPlantEvent.plants,
        "about": StockPlantEvent.about,
        "result": StockPlantEvent.result,
        "finding": StockPlantEvent.finding,
        "until_on": StockPlantEvent.until_on,
        "withdrawn": StockPlantEvent.withdrawn_at.is_not(None),
        "withdraw_reason": StockPlantEvent.withdraw_reason,
        "note": StockPlantEvent.note,
    },
    source=lambda query: (
        query.select_from(StockPlantEvent)
        .join(StockPlant, StockPlant.id == StockPlantEvent.stock_plant_id)
        .join(PlantNameRow, PlantNameRow.id == StockPlant.plant_name_id)
        .outerjoin(_seen_by, _seen_by.id == StockPlantEvent.by_id)
    ),
)
