"""Looking over what stock plants say of themselves against what happened to them."""

from collections.abc import Iterator
from itertools import groupby

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.stock_plant_events import (
    FIGURES,
    EventKind,
    PlantEvent,
    Result,
    figures_of,
    standing_events,
)
from app.store.models.stock_plant_events import StockPlantEvent
from app.store.models.stock_plants import StockPlant

_CHUNK = 1_000


def stock_plant_faults(session: Session) -> Iterator[tuple[str, str]]:
    """Yield (record, sentence) for every stock plant that does not follow from its events."""
    events = _events_by_plant(session)
    columns = [getattr(StockPlant, name) for name in FIGURES]
    query = select(StockPlant.id, StockPlant.code, *columns).order_by(StockPlant.id)
    for row in session.execute(query):
        record = f"stock plant {row.code}"
        lines = events.get(row.id, ())
        counting = [event for event, _stands, withdrawn in lines if not withdrawn]
        figures = figures_of(counting)
        for name in FIGURES:
            stored, expected = row._mapping[name], getattr(figures, name)
            if stored != expected:
                told = [value if value is not None else "nothing" for value in (stored, expected)]
                yield record, f"{name} is {told[0]}; what happened to it gives {told[1]}."
        standing = {event.id for event in standing_events(counting)}
        for event, stands, _withdrawn in lines:
            if stands != (event.id in standing):
                says = "counts as" if stands else "does not count as"
                yield record, f"Its entry of {event.happened_on} ({event.kind}) {says} the newest."


def _events_by_plant(session: Session) -> dict[int, tuple[tuple[PlantEvent, bool, bool], ...]]:
    """Return each plant's events, with whether it stands and whether it is withdrawn."""
    names = tuple(PlantEvent.__dataclass_fields__)
    query = (
        select(
            StockPlantEvent.stock_plant_id,
            StockPlantEvent.stands,
            StockPlantEvent.withdrawn_at,
            *(getattr(StockPlantEvent, name) for name in names),
        )
        .order_by(StockPlantEvent.stock_plant_id, StockPlantEvent.id)
        .execution_options(yield_per=_CHUNK)
    )
    found = {}
    for plant_id, rows in groupby(session.execute(query), key=lambda row: int(row.stock_plant_id)):
        lines = []
        for row in rows:
            values = {name: row._mapping[name] for name in names}
            values |= {"kind": EventKind(row.kind), "result": Result(row.result)}
            lines.append((PlantEvent(**values), bool(row.stands), row.withdrawn_at is not None))
        found[plant_id] = tuple(lines)
    return found
