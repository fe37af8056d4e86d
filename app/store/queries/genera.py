"""Reading genera."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Row, Select, func, select
from sqlalchemy.orm import Session

from app.domain.problems import NotFound
from app.store.models.genera import Genus
from app.store.models.plant_names import PlantNameRow


@dataclass(frozen=True, kw_only=True)
class KnownGenus:
    """A genus with its family and caution, and how many names it has in the log."""

    id: int
    name: str
    family: str
    caution: str
    caution_route: str
    caution_basis: str
    caution_applies_to: str
    version: int
    names: int


def list_genera(session: Session) -> tuple[KnownGenus, ...]:
    """Return every genus by name."""
    return tuple(_known(row) for row in session.execute(_genera().order_by(Genus.name)))


def get_genus(session: Session, *, name: str) -> KnownGenus:
    """Return one genus.

    Raises:
        NotFound: there is none of this name.
    """
    row = session.execute(_genera().where(Genus.name == name)).one_or_none()
    if row is None:
        raise NotFound(f"There is no genus {name} in the list.")
    return _known(row)


def genus_names(session: Session) -> Mapping[int, str]:
    """Return the name of every genus by its id."""
    return {row.id: row.name for row in session.execute(select(Genus.id, Genus.name))}


def _genera() -> Select[*tuple[Any, ...]]:
    names = select(func.count()).where(PlantNameRow.genus_id == Genus.id).scalar_subquery()
    return select(*Genus.__table__.c, names.label("names"))


def _known(row: Row[*tuple[Any, ...]]) -> KnownGenus:
    return KnownGenus(**row._mapping)
