"""Reading stock plants: finding, listing, and one as it was entered."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any, Final

from sqlalchemy import ColumnElement, Row, Select, or_, select
from sqlalchemy.orm import Session

from app.domain.codes import parse_stock_plant_code
from app.domain.problems import NotFound
from app.domain.source_plants import Moment
from app.domain.stock_plant_notices import INSPECT_AHEAD
from app.domain.stock_plant_states import StateFacts, state_on
from app.domain.stock_plants import Origin, StateToday, StockPlantEntry, StockPlantState
from app.store.models.batches import Batch
from app.store.models.benches import Bench
from app.store.models.genera import Genus
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant
from app.store.queries.stock_plant_events import findings_by_plant
from app.store.queries.stock_plant_states import (
    STATE_COLUMNS,
    last_cut_column,
    state_facts,
    states_of,
)

_CHUNK: Final = 200
PAGE: Final = 50


class StockPlantsIn(StrEnum):
    """Which stock plants a list holds."""

    KEPT = "kept"
    FIT = "fit to cut"
    RESTING = "resting"
    WATCHED = "watched"
    ON_HOLD = "on hold"
    DISCARDED = "discarded"
    TO_INSPECT = "to inspect"
    ALL = "all"


@dataclass(frozen=True, kw_only=True)
class StockPlantLine:
    """One stock plant in a list, as it stands on the day asked for."""

    id: int
    number: int
    code: str
    plant: str
    plants: int
    bench: str
    last_cut_on: date | None
    standing: StateToday


@dataclass(frozen=True, kw_only=True)
class StockPlantPage:
    """Some stock plants by code; `earlier` and `later` say whether there are more."""

    lines: tuple[StockPlantLine, ...]
    earlier: bool
    later: bool


@dataclass(frozen=True, kw_only=True)
class KnownStockPlant:
    """A stock plant as entered, with the names of what it leans on and when it was last cut."""

    id: int
    code: str
    version: int
    entry: StockPlantEntry
    plant: str
    genus: str
    bench: str
    raised_from: str
    last_cut_on: date | None
    discarded_on: date | None
    next_inspection_on: date | None
    facts: StateFacts

    @property
    def is_discarded(self) -> bool:
        """Whether it was discarded."""
        return self.entry.state is StockPlantState.DISCARDED

    def standing(self, on: date, *, moment: Moment | None = None) -> StateToday:
        """Return how it stands on a day, with a moment also whether a re-entry time runs."""
        return state_on(on, facts=self.facts, moment=moment)


def find_stock_plant_id(session: Session, *, code: str) -> int | None:
    """Return the id of the stock plant whose code was typed, forgivingly; None if none."""
    number = parse_stock_plant_code(code)
    if number is None:
        return None
    return session.scalar(select(StockPlant.id).where(StockPlant.number == number))


def get_stock_plant(session: Session, *, code: str) -> KnownStockPlant:
    """Return the stock plant of this code.

    Raises:
        NotFound: there is none.
    """
    stock_plant_id = find_stock_plant_id(session, code=code)
    if stock_plant_id is None:
        raise NotFound(f"There is no stock plant {code}. Look for it by its plant name.")
    row = session.execute(_plants().where(StockPlant.id == stock_plant_id)).one()
    found = findings_by_plant(session, stock_plant_ids=[row.id])
    return KnownStockPlant(
        id=row.id,
        code=row.code,
        version=row.version,
        entry=_entry(row),
        plant=row.plant,
        genus=row.genus,
        bench=row.bench or "",
        raised_from=row.raised_from or "",
        last_cut_on=row.last_cut_on,
        discarded_on=row.discarded_on,
        next_inspection_on=row.next_inspection_on,
        facts=state_facts(row, events=found.get(row.id, ())),
    )


def list_stock_plants(
    session: Session,
    *,
    on: date,
    moment: Moment | None = None,
    wanted: StockPlantsIn = StockPlantsIn.KEPT,
    text: str = "",
    after: int | None = None,
    before: int | None = None,
    limit: int = PAGE,
) -> StockPlantPage:
    """Return a page of stock plants by code as they stand on a day, at a moment if one is given.

    `text` is a code or words of the plant's name. `after` or `before` is the number at the end
    of the page that was in sight.
    """
    back = before is not None
    query = _lines().where(*_told(text), *_stored(wanted, on=on))
    query = query.order_by(StockPlant.number.desc() if back else StockPlant.number)
    found = _gather(
        session,
        query,
        wanted=wanted,
        on=on,
        moment=moment,
        beyond=before if back else after,
        back=back,
        limit=limit + 1,
    )
    more, shown = len(found) > limit, found[:limit]
    if back:
        return StockPlantPage(lines=tuple(reversed(shown)), earlier=more, later=True)
    return StockPlantPage(lines=tuple(shown), earlier=after is not None, later=more)


def find_stock_plants(
    session: Session, *, text: str, on: date, limit: int
) -> tuple[StockPlantLine, ...]:
    """Return stock plants that are kept and fit what was typed, by code, for suggestions."""
    return list_stock_plants(session, on=on, text=text, limit=limit).lines


def list_stock_plants_of(
    session: Session, *, plant_name_id: int, on: date, moment: Moment | None = None
) -> tuple[StockPlantLine, ...]:
    """Return the stock plants of one name that are kept, by code."""
    query = (
        _lines()
        .where(StockPlant.plant_name_id == plant_name_id, *_stored(StockPlantsIn.KEPT, on=on))
        .order_by(StockPlant.number)
    )
    return _as_lines(session, query, on=on, moment=moment)


def last_cut_on(session: Session, *, stock_plant_id: int) -> date | None:
    """Return the day on which cuttings were last taken from it, None if they never were."""
    return session.scalar(select(last_cut_column()).where(StockPlant.id == stock_plant_id))


def _lines() -> Select[*tuple[Any, ...]]:
    return (
        select(
            *STATE_COLUMNS,
            StockPlant.number,
            StockPlant.code,
            StockPlant.plants,
            PlantNameRow.plain.label("plant"),
            Bench.name.label("bench"),
        )
        .join(PlantNameRow, PlantNameRow.id == StockPlant.plant_name_id)
        .outerjoin(Bench, Bench.id == StockPlant.bench_id)
    )


def _plants() -> Select[*tuple[Any, ...]]:
    return (
        select(
            StockPlant.__table__,
            PlantNameRow.plain.label("plant"),
            Genus.name.label("genus"),
            Bench.name.label("bench"),
            Batch.code.label("raised_from"),
            last_cut_column().label("last_cut_on"),
        )
        .join_from(StockPlant, PlantNameRow, PlantNameRow.id == StockPlant.plant_name_id)
        .join(Genus, Genus.id == PlantNameRow.genus_id)
        .outerjoin(Bench, Bench.id == StockPlant.bench_id)
        .outerjoin(Batch, Batch.id == StockPlant.raised_from_id)
    )


def _told(text: str) -> list[ColumnElement[bool]]:
    """Return the condition of being what was typed: a code, or every word of the name."""
    number = parse_stock_plant_code(text)
    if number is not None:
        return [StockPlant.number == number]
    names = (PlantNameRow.plain, PlantNameRow.trade_designation, PlantNameRow.common_name)
    return [
        or_(*(name.icontains(word, autoescape=True) for name in names))
        for word in text.replace("'", " ").split()
    ]


def _stored(wanted: StockPlantsIn, *, on: date) -> list[ColumnElement[bool]]:
    """Return what of a state the database can say; the rest is worked out by the one rule."""
    discarded = StockPlant.state == str(StockPlantState.DISCARDED)
    if wanted is StockPlantsIn.ALL:
        return []
    if wanted is StockPlantsIn.TO_INSPECT:
        return [~discarded, StockPlant.next_inspection_on <= on + INSPECT_AHEAD]
    return [discarded] if wanted is StockPlantsIn.DISCARDED else [~discarded]


def _gather(
    session: Session,
    query: Select[*tuple[Any, ...]],
    *,
    wanted: StockPlantsIn,
    on: date,
    moment: Moment | None,
    beyond: int | None,
    back: bool,
    limit: int,
) -> list[StockPlantLine]:
    """Return the first lines beyond a number that stand as is wanted, read a chunk at a time."""
    any_state = wanted in {StockPlantsIn.KEPT, StockPlantsIn.ALL, StockPlantsIn.TO_INSPECT}
    chunk = limit if any_state else max(limit, _CHUNK)
    found: list[StockPlantLine] = []
    while len(found) < limit:
        part = query.limit(chunk)
        if beyond is not None:
            part = part.where(StockPlant.number < beyond if back else StockPlant.number > beyond)
        lines = _as_lines(session, part, on=on, moment=moment)
        found += [line for line in lines if any_state or line.standing.state == wanted.value]
        if len(lines) < chunk:
            break
        beyond = lines[-1].number
    return found[:limit]


def _as_lines(
    session: Session, query: Select[*tuple[Any, ...]], *, on: date, moment: Moment | None
) -> tuple[StockPlantLine, ...]:
    rows = session.execute(query).all()
    standing = states_of(session, rows=rows, on=on, moment=moment)
    return tuple(
        StockPlantLine(
            id=row.id,
            number=row.number,
            code=row.code,
            plant=row.plant,
            plants=row.plants,
            bench=row.bench or "",
            last_cut_on=row.last_cut_on,
            standing=standing[row.id],
        )
        for row in rows
    )


def _entry(row: Row[*tuple[Any, ...]]) -> StockPlantEntry:
    values = {field: row._mapping[field] for field in StockPlantEntry.__dataclass_fields__}
    return StockPlantEntry(
        **values | {"state": StockPlantState(row.state), "origin": Origin(row.origin)}
    )
