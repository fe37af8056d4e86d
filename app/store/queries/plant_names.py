"""Reading plant names: finding one, suggesting, listing, and one with all that stands by it."""

from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from sqlalchemy import ColumnElement, Select, case, func, or_, select
from sqlalchemy.orm import Session

from app.domain.problems import NotFound
from app.store.models.batches import BatchFacts
from app.store.models.genera import Genus
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant

PAGE: Final = 50


@dataclass(frozen=True, kw_only=True)
class PlantNameLine:
    """One name in a list, with how many batches and stock plants bear it."""

    id: int
    plain: str
    trade_designation: str
    common_name: str
    family: str
    batches: int
    stock_plants: int


@dataclass(frozen=True, kw_only=True)
class PlantNamePage:
    """Some names of a list by alphabet; `earlier` and `later` say whether there are more."""

    lines: tuple[PlantNameLine, ...]
    earlier: bool
    later: bool


@dataclass(frozen=True, kw_only=True)
class KnownPlantName:
    """A name with everything that stands beside it."""

    id: int
    plain: str
    genus: str
    family: str
    trade_designation: str
    common_name: str
    rights_grant: str
    rights_licence: str
    rights_until: date | None
    notes: str
    version: int


def find_plant_name_id(session: Session, *, plain: str) -> int | None:
    """Return the id of the name written exactly like this, None if there is none."""
    return session.scalar(select(PlantNameRow.id).where(PlantNameRow.plain == plain))


def find_like_named(session: Session, *, text: str) -> int | None:
    """Return the id of the only name that is alike but for quotation marks and capitals."""
    bare = " ".join(text.replace("'", " ").replace('"', " ").lower().split())
    folded = func.lower(func.replace(PlantNameRow.plain, "'", ""))
    found = session.scalars(select(PlantNameRow.id).where(folded == bare).limit(2)).all()
    return found[0] if len(found) == 1 else None


def find_plant_names(session: Session, *, text: str, limit: int) -> tuple[str, ...]:
    """Return names that hold every word of the text, those that begin with it first."""
    begins = case((PlantNameRow.plain.istartswith(text.strip(), autoescape=True), 0), else_=1)
    query = (
        select(PlantNameRow.plain)
        .where(*_told(text))
        .order_by(begins, PlantNameRow.plain)
        .limit(limit)
    )
    return tuple(session.scalars(query))


def list_plant_names(
    session: Session,
    *,
    text: str = "",
    after: str | None = None,
    before: str | None = None,
    limit: int = PAGE,
) -> PlantNamePage:
    """Return a page of names by alphabet that hold every word of the text.

    `after` or `before` is the name at the end of the page that was in sight.
    """
    query = _lines().where(*_told(text)).limit(limit + 1)
    if before is not None:
        query = query.where(PlantNameRow.plain < before).order_by(PlantNameRow.plain.desc())
    else:
        query = query.order_by(PlantNameRow.plain)
        if after is not None:
            query = query.where(PlantNameRow.plain > after)
    found = [PlantNameLine(**row._mapping) for row in session.execute(query)]
    more, shown = len(found) > limit, found[:limit]
    if before is not None:
        return PlantNamePage(lines=tuple(reversed(shown)), earlier=more, later=True)
    return PlantNamePage(lines=tuple(shown), earlier=after is not None, later=more)


def get_plant_name(session: Session, *, plant_name_id: int) -> KnownPlantName:
    """Return one name.

    Raises:
        NotFound: there is none with this id.
    """
    columns = [
        column
        for column in PlantNameRow.__table__.c
        if column.name in KnownPlantName.__dataclass_fields__
    ]
    query = (
        select(*columns, Genus.name.label("genus"), Genus.family)
        .join(Genus, Genus.id == PlantNameRow.genus_id)
        .where(PlantNameRow.id == plant_name_id)
    )
    row = session.execute(query).one_or_none()
    if row is None:
        raise NotFound("This plant name is not in the list.")
    return KnownPlantName(**row._mapping)


def _told(text: str) -> list[ColumnElement[bool]]:
    """Return the condition that each word stands in the name, or in what it is also called."""
    places = (PlantNameRow.plain, PlantNameRow.trade_designation, PlantNameRow.common_name)
    return [
        or_(*(place.icontains(word, autoescape=True) for place in places))
        for word in text.replace("'", " ").split()
    ]


def _lines() -> Select[*tuple[Any, ...]]:
    batches = (
        select(func.count())
        .where(BatchFacts.plant_name_id == PlantNameRow.id, BatchFacts.voided == 0)
        .scalar_subquery()
    )
    plants = (
        select(func.count())
        .where(StockPlant.plant_name_id == PlantNameRow.id, StockPlant.discarded_on.is_(None))
        .scalar_subquery()
    )
    return select(
        PlantNameRow.id,
        PlantNameRow.plain,
        PlantNameRow.trade_designation,
        PlantNameRow.common_name,
        Genus.family,
        batches.label("batches"),
        plants.label("stock_plants"),
    ).join(Genus, Genus.id == PlantNameRow.genus_id)
