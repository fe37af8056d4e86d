"""What a batch leans on, written straight into the tables for tests."""

from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from app.domain.batches import BatchEntry, SourceKind, SourceLine
from app.store.models.benches import Bench
from app.store.models.containers import Container
from app.store.models.genera import Genus
from app.store.models.mixes import Mix, MixLot, MixVersion
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plant_events import StockPlantEvent
from app.store.models.stock_plants import StockPlant
from tests.conftest import NOW, TODAY


def keep(session: Session, row: Any) -> int:
    """Store a row and return its id."""
    session.add(row)
    session.flush()
    return int(row.id)


def add_plant(session: Session, plain: str = "Hebe 'Great Orme'", *, cultivar: str = "") -> int:
    genus = plain.split(maxsplit=1)[0]
    found = session.query(Genus).filter_by(name=genus).one_or_none()
    genus_id = found.id if found else keep(session, Genus(name=genus))
    return keep(session, PlantNameRow(plain=plain, genus_id=genus_id, cultivar=cultivar))


def add_stock_plant(session: Session, plant_name_id: int, number: int = 31, **more: Any) -> int:
    code = f"S-{number:04d}"
    row = StockPlant(number=number, code=code, plant_name_id=plant_name_id, **more)
    plant_id = keep(session, row)
    counted = StockPlantEvent(
        stock_plant_id=plant_id,
        kind="counted",
        happened_on=date(2020, 1, 1),
        plants=row.plants,
        stands=1,
        made_at=NOW,
    )
    keep(session, counted)
    return plant_id


def add_bench(session: Session, name: str = "Mist bench 2", walking_order: int = 1) -> int:
    return keep(session, Bench(name=name, walking_order=walking_order))


def add_container(session: Session, name: str = "84-plug tray", **more: Any) -> int:
    return keep(session, Container(name=name, **{"kind": "tray", "plugs": 84} | more))


def add_mix(session: Session, name: str = "Perlite and bark", *, versions: int = 1) -> list[int]:
    mix_id = keep(session, Mix(name=name))
    made: list[datetime] = [NOW] * versions
    return [
        keep(session, MixVersion(mix_id=mix_id, number=number, made_at=made_at))
        for number, made_at in enumerate(made, start=1)
    ]


def add_mix_lot(session: Session, mix_version_id: int, number: int = 1) -> int:
    code = f"M-{number:04d}"
    row = MixLot(number=number, code=code, mix_version_id=mix_version_id, made_on=TODAY)
    return keep(session, row)


def entry(plant_name_id: int, **more: Any) -> BatchEntry:
    """Return an entry of 96 cuttings stuck today, with what else is said of it."""
    values: dict[str, Any] = {"stuck_on": TODAY, "stuck": 96} | more
    return BatchEntry(plant_name_id=plant_name_id, **values)


def from_stock_plant(stock_plant_id: int, number: int | None = None) -> SourceLine:
    return SourceLine(kind=SourceKind.STOCK_PLANT, stock_plant_id=stock_plant_id, number=number)


def days_ago(days: int) -> date:
    return date.fromordinal(TODAY.toordinal() - days)
