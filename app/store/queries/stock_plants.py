"""Reading stock plants: finding, listing, and one as it was entered."""

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Any, Final

from sqlalchemy import (
    ColumnElement,
    Row,
    ScalarSelect,
    Select,
    and_,
    false,
    func,
    not_,
    or_,
    select,
)
from sqlalchemy.orm import Session

from app.domain.codes import parse_stock_plant_code
from app.domain.days import EARLIEST
from app.domain.problems import NotFound
from app.domain.stock_plants import (
    Origin,
    StateToday,
    StockPlantEntry,
    StockPlantState,
    state_on,
)
from app.store.models.batches import Batch, BatchSource
from app.store.models.benches import Bench
from app.store.models.genera import Genus
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant

PAGE: Final = 50


class StockPlantsIn(StrEnum):
    """Which stock plants a list holds."""

    KEPT = "kept"
    FIT = "fit to cut"
    RESTING = "resting"
    WATCHED = "watched"
    ON_HOLD = "on hold"
    DISCARDED = "discarded"
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

    @property
    def is_discarded(self) -> bool:
        """Whether it was discarded."""
        return self.entry.state is StockPlantState.DISCARDED

    def standing(self, on: date) -> StateToday:
        """Return how it stands on a day."""
        return state_on(
            on,
            state=self.entry.state,
            reason=self.entry.state_reason,
            rest_weeks=self.entry.rest_weeks,
            last_cut_on=self.last_cut_on,
        )


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
    )


def list_stock_plants(
    session: Session,
    *,
    on: date,
    wanted: StockPlantsIn = StockPlantsIn.KEPT,
    text: str = "",
    after: int | None = None,
    before: int | None = None,
    limit: int = PAGE,
) -> StockPlantPage:
    """Return a page of stock plants by code as they stand on a day.

    `text` is a code or words of the plant's name. `after` or `before` is the number at the end
    of the page that was in sight.
    """
    query = _lines().where(*_told(text), *_in(session, wanted, on=on)).limit(limit + 1)
    if before is not None:
        query = query.where(StockPlant.number < before).order_by(StockPlant.number.desc())
    else:
        query = query.order_by(StockPlant.number)
        if after is not None:
            query = query.where(StockPlant.number > after)
    found = [_line(row, on=on) for row in session.execute(query)]
    more, shown = len(found) > limit, found[:limit]
    if before is not None:
        return StockPlantPage(lines=tuple(reversed(shown)), earlier=more, later=True)
    return StockPlantPage(lines=tuple(shown), earlier=after is not None, later=more)


def find_stock_plants(
    session: Session, *, text: str, on: date, limit: int
) -> tuple[StockPlantLine, ...]:
    """Return stock plants that are kept and fit what was typed, by code, for suggestions."""
    return list_stock_plants(session, on=on, text=text, limit=limit).lines


def list_stock_plants_of(
    session: Session, *, plant_name_id: int, on: date
) -> tuple[StockPlantLine, ...]:
    """Return the stock plants of one name that are kept, by code."""
    query = (
        _lines()
        .where(StockPlant.plant_name_id == plant_name_id, *_in(session, StockPlantsIn.KEPT, on=on))
        .order_by(StockPlant.number)
    )
    return tuple(_line(row, on=on) for row in session.execute(query))


def last_cut_on(session: Session, *, stock_plant_id: int) -> date | None:
    """Return the day on which cuttings were last taken from it, None if they never were."""
    return session.scalar(select(last_cut_column()).where(StockPlant.id == stock_plant_id))


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


def _lines() -> Select[*tuple[Any, ...]]:
    return (
        select(
            StockPlant.id,
            StockPlant.number,
            StockPlant.code,
            StockPlant.plants,
            StockPlant.state,
            StockPlant.state_reason,
            StockPlant.rest_weeks,
            PlantNameRow.plain.label("plant"),
            Bench.name.label("bench"),
            last_cut_column().label("last_cut_on"),
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


def _in(session: Session, wanted: StockPlantsIn, *, on: date) -> list[ColumnElement[bool]]:
    """Return the conditions of a state; a fit plant that rests after a cut is resting."""
    state = StockPlant.state
    if wanted is StockPlantsIn.ALL:
        return []
    if wanted is StockPlantsIn.KEPT:
        return [state != str(StockPlantState.DISCARDED)]
    if wanted is StockPlantsIn.FIT:
        return [state == str(StockPlantState.FIT), not_(_rests(session, on=on))]
    if wanted is StockPlantsIn.RESTING:
        fit = and_(state == str(StockPlantState.FIT), _rests(session, on=on))
        return [or_(state == str(StockPlantState.RESTING), fit)]
    return [state == str(wanted)]


def _rests(session: Session, *, on: date) -> ColumnElement[bool]:
    """Return the condition that the weeks of rest after the last cut are not over.

    Databases count days differently, so each number of weeks in use becomes a day of its own.
    """
    in_use = select(StockPlant.rest_weeks).where(StockPlant.rest_weeks > 0).distinct()
    cut_on = func.coalesce(last_cut_column(), EARLIEST)
    return or_(
        false(),
        *(
            and_(StockPlant.rest_weeks == number, cut_on > on - timedelta(weeks=number))
            for number in session.scalars(in_use)
            if number is not None
        ),
    )


def _line(row: Row[*tuple[Any, ...]], *, on: date) -> StockPlantLine:
    return StockPlantLine(
        id=row.id,
        number=row.number,
        code=row.code,
        plant=row.plant,
        plants=row.plants,
        bench=row.bench or "",
        last_cut_on=row.last_cut_on,
        standing=state_on(
            on,
            state=StockPlantState(row.state),
            reason=row.state_reason,
            rest_weeks=row.rest_weeks,
            last_cut_on=row.last_cut_on,
        ),
    )


def _entry(row: Row[*tuple[Any, ...]]) -> StockPlantEntry:
    values = {field: row._mapping[field] for field in StockPlantEntry.__dataclass_fields__}
    return StockPlantEntry(
        **values | {"state": StockPlantState(row.state), "origin": Origin(row.origin)}
    )
