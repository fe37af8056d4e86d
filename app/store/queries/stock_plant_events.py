"""Reading what happened to stock plants."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from sqlalchemy import Row, Select, case, false, func, or_, select
from sqlalchemy.orm import Session, aliased

from app.domain.problems import NotFound
from app.domain.stock_plant_events import EventKind, PlantEvent, Result
from app.store.models.benches import Bench
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plant_events import StockPlantEvent
from app.store.models.stock_plants import StockPlant

CHUNK: Final = 400
_FOUND: Final = (Result.DOUBT.value, Result.BAD.value)
_COUNTING: Final = tuple(PlantEvent.__dataclass_fields__)
_by, _recorded_by, _withdrawn_by = aliased(Person), aliased(Person), aliased(Person)


@dataclass(frozen=True, kw_only=True)
class KnownEvent:
    """One happening as it is shown; `withdrawn_at` None while it counts."""

    event: PlantEvent
    note: str
    by: str
    recorded_by: str
    recorded_by_id: int | None
    made_at: datetime
    withdrawn_at: datetime | None
    withdrawn_by: str
    withdraw_reason: str


@dataclass(frozen=True, kw_only=True)
class PlantsToSee:
    """The stock plants that want seeing to soonest, and how many more there are."""

    plants: tuple["PlantToSee", ...]
    more: int


@dataclass(frozen=True, kw_only=True)
class PlantToSee:
    """A stock plant whose next inspection is due, or whose test runs out."""

    code: str
    plant: str
    bench: str | None
    next_inspection_on: date | None
    tested_until: date | None
    inspect: bool


def list_events(session: Session, *, stock_plant_id: int) -> tuple[KnownEvent, ...]:
    """Return what happened to a stock plant, the newest first, withdrawn ones too."""
    query = (
        _events()
        .where(StockPlantEvent.stock_plant_id == stock_plant_id)
        .order_by(StockPlantEvent.happened_on.desc(), StockPlantEvent.id.desc())
    )
    return tuple(_known(row) for row in session.execute(query))


def get_event(session: Session, *, stock_plant_id: int, event_id: int) -> KnownEvent:
    """Return one happening of a stock plant.

    Raises:
        NotFound: there is none of this id.
    """
    query = _events().where(
        StockPlantEvent.id == event_id, StockPlantEvent.stock_plant_id == stock_plant_id
    )
    row = session.execute(query).one_or_none()
    if row is None:
        raise NotFound("There is no such entry. Look for it on the page of its stock plant.")
    return _known(row)


def counting_events(session: Session, *, stock_plant_id: int) -> tuple[PlantEvent, ...]:
    """Return the events of a stock plant that are not withdrawn, in the order of their days."""
    query = (
        select(*(getattr(StockPlantEvent, name) for name in _COUNTING))
        .where(
            StockPlantEvent.stock_plant_id == stock_plant_id,
            StockPlantEvent.withdrawn_at.is_(None),
        )
        .order_by(StockPlantEvent.happened_on, StockPlantEvent.id)
    )
    return tuple(_event(row) for row in session.execute(query))


def findings_by_plant(
    session: Session, *, stock_plant_ids: Sequence[int] | None = None
) -> Mapping[int, tuple[PlantEvent, ...]]:
    """Return the standing events that found something, by plant; of all plants without ids."""
    query = (
        select(
            StockPlantEvent.stock_plant_id,
            *(getattr(StockPlantEvent, name) for name in _COUNTING),
        )
        .where(StockPlantEvent.stands == 1, StockPlantEvent.result.in_(_FOUND))
        .order_by(StockPlantEvent.happened_on, StockPlantEvent.id)
    )
    found: dict[int, tuple[PlantEvent, ...]] = {}
    for chosen in _chunked(query, stock_plant_ids):
        for row in session.execute(chosen):
            found[row.stock_plant_id] = (*found.get(row.stock_plant_id, ()), _event(row))
    return found


def counts_by_plant(
    session: Session, *, stock_plant_ids: Sequence[int]
) -> Mapping[int, tuple[tuple[date, int], ...]]:
    """Return the (day, number) counted of each plant in the order of the days."""
    query = (
        select(StockPlantEvent.stock_plant_id, StockPlantEvent.happened_on, StockPlantEvent.plants)
        .where(
            StockPlantEvent.kind == EventKind.COUNTED.value,
            StockPlantEvent.withdrawn_at.is_(None),
            StockPlantEvent.plants.is_not(None),
        )
        .order_by(StockPlantEvent.happened_on, StockPlantEvent.id)
    )
    found: dict[int, tuple[tuple[date, int], ...]] = {}
    for chosen in _chunked(query, stock_plant_ids):
        for row in session.execute(chosen):
            line = (row.happened_on, row.plants)
            found[row.stock_plant_id] = (*found.get(row.stock_plant_id, ()), line)
    return found


def list_plants_to_see(
    session: Session, *, inspect_by: date, tested_from: date, tested_to: date, most: int
) -> PlantsToSee:
    """Return the kept stock plants to inspect by a day, or whose test runs out between two.

    Of more than `most` those whose day comes first are told.
    """
    wanted = (
        StockPlant.discarded_on.is_(None),
        or_(
            StockPlant.next_inspection_on <= inspect_by,
            StockPlant.tested_until.between(tested_from, tested_to),
        ),
    )
    query = (
        select(
            StockPlant.code,
            PlantNameRow.plain.label("plant"),
            Bench.name.label("bench"),
            StockPlant.next_inspection_on,
            StockPlant.tested_until,
            func.coalesce(StockPlant.next_inspection_on <= inspect_by, false()).label("inspect"),
        )
        .join(PlantNameRow, PlantNameRow.id == StockPlant.plant_name_id)
        .outerjoin(Bench, Bench.id == StockPlant.bench_id)
        .where(*wanted)
        .order_by(
            func.coalesce(StockPlant.next_inspection_on, StockPlant.tested_until),
            StockPlant.number,
        )
        .limit(most)
    )
    plants = tuple(PlantToSee(**row._mapping) for row in session.execute(query))
    more = 0
    if len(plants) == most:
        counted = session.scalar(select(func.count()).select_from(StockPlant).where(*wanted))
        more = (counted or 0) - most
    return PlantsToSee(plants=plants, more=more)


def _chunked(
    query: Select[*tuple[Any, ...]], ids: Sequence[int] | None
) -> list[Select[*tuple[Any, ...]]]:
    if ids is None:
        return [query]
    return [
        query.where(StockPlantEvent.stock_plant_id.in_(ids[start : start + CHUNK]))
        for start in range(0, len(ids), CHUNK)
    ]


def _name(person: Any, label: str) -> Any:
    return case((person.erased_at.is_(None), person.name), else_="").label(label)


def _events() -> Select[*tuple[Any, ...]]:
    return (
        select(
            StockPlantEvent.__table__,
            _name(_by, "by"),
            _name(_recorded_by, "recorded_by"),
            _name(_withdrawn_by, "withdrawn_by"),
        )
        .outerjoin(_by, _by.id == StockPlantEvent.by_id)
        .outerjoin(_recorded_by, _recorded_by.id == StockPlantEvent.recorded_by_id)
        .outerjoin(_withdrawn_by, _withdrawn_by.id == StockPlantEvent.withdrawn_by_id)
    )


def _known(row: Row[*tuple[Any, ...]]) -> KnownEvent:
    return KnownEvent(
        event=_event(row),
        note=row.note,
        by=row.by or "",
        recorded_by=row.recorded_by or "",
        recorded_by_id=row.recorded_by_id,
        made_at=row.made_at,
        withdrawn_at=row.withdrawn_at,
        withdrawn_by=row.withdrawn_by or "",
        withdraw_reason=row.withdraw_reason,
    )


def _event(row: Row[*tuple[Any, ...]]) -> PlantEvent:
    values = {name: row._mapping[name] for name in _COUNTING}
    return PlantEvent(**values | {"kind": EventKind(row.kind), "result": Result(row.result)})
