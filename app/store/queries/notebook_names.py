"""Reading everything that a notebook sheet can name, at once: the names, and their row ids."""

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.hormones import Hormone
from app.domain.notebook_names import KnownNames, folded_plant, hormone_key
from app.domain.people import name_key
from app.store.models.benches import Bench
from app.store.models.containers import Container
from app.store.models.hormones import HormoneRow
from app.store.models.lost_causes import LostCause
from app.store.models.mixes import Mix, MixVersion
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant


@dataclass(frozen=True, kw_only=True, slots=True)
class PlantId:
    """A plant name's row, its genus' row, and its species for the method cards."""

    id: int
    genus_id: int
    species: str


@dataclass(frozen=True, kw_only=True, slots=True)
class MixId:
    """A mix, and its newest version."""

    id: int
    version_id: int


@dataclass(frozen=True, kw_only=True, slots=True)
class ContainerId:
    """A container's row and kind."""

    id: int
    kind: str


@dataclass(frozen=True, kw_only=True, slots=True)
class PersonId:
    """A person's row and lasting key."""

    id: int
    key: str


@dataclass(frozen=True, kw_only=True)
class NameIds:
    """The rows behind names, plants by their plain line, all others folded (`name_key`).

    Stock plants stand under their code, and under the name that a sheet once gave them.
    """

    plants: Mapping[str, PlantId]
    stock_plants: Mapping[str, int]
    mixes: Mapping[str, MixId]
    containers: Mapping[str, ContainerId]
    benches: Mapping[str, int]
    people: Mapping[str, PersonId]
    causes: Mapping[str, int]
    hormones: Mapping[Hormone, int]


def read_name_ids(session: Session) -> NameIds:
    """Return the rows behind every name of the log."""
    return NameIds(
        plants=_plants(session),
        stock_plants=_stock_plants(session),
        mixes=_mixes(session),
        containers={
            name_key(row.name): ContainerId(id=row.id, kind=row.kind)
            for row in session.execute(select(Container.id, Container.name, Container.kind))
        },
        benches={
            name_key(row.name): row.id for row in session.execute(select(Bench.id, Bench.name))
        },
        people=_people(session),
        causes={
            name_key(row.name): row.id
            for row in session.execute(select(LostCause.id, LostCause.name))
        },
        hormones={
            _hormone(row.substance, row.form, row.ppm): row.id
            for row in session.execute(
                select(HormoneRow.id, HormoneRow.substance, HormoneRow.form, HormoneRow.ppm)
            )
        },
    )


def read_known_names(session: Session) -> KnownNames:
    """Return every name of the log, folded for comparing."""
    ids = read_name_ids(session)
    codes: dict[str, str] = {}
    mothers: dict[str, str] = {}
    query = (
        select(StockPlant.code, StockPlant.supplier_reference, PlantNameRow.plain)
        .join(PlantNameRow, PlantNameRow.id == StockPlant.plant_name_id)
        .order_by(StockPlant.id)
    )
    for row in session.execute(query):
        if row.supplier_reference:
            codes.setdefault(name_key(row.supplier_reference), row.code)
        codes[name_key(row.code)] = row.code
        mothers[row.code] = row.plain
    return KnownNames(
        plants=frozenset(ids.plants),
        alike=_alike(ids.plants),
        stock_plants=codes,
        mothers=mothers,
        mixes=frozenset(ids.mixes),
        containers=frozenset(ids.containers),
        benches=frozenset(ids.benches),
        people=frozenset(ids.people),
        causes=frozenset(ids.causes),
        hormones={hormone_key(hormone): hormone for hormone in ids.hormones},
    )


def _plants(session: Session) -> Mapping[str, PlantId]:
    name = PlantNameRow
    query = select(name.id, name.plain, name.genus_id, name.species)
    return {
        row.plain: PlantId(id=row.id, genus_id=row.genus_id, species=row.species)
        for row in session.execute(query)
    }


def _people(session: Session) -> Mapping[str, PersonId]:
    query = select(Person.id, Person.key, Person.name_key).where(Person.erased_at.is_(None))
    return {row.name_key: PersonId(id=row.id, key=row.key) for row in session.execute(query)}


def _stock_plants(session: Session) -> Mapping[str, int]:
    query = select(StockPlant.id, StockPlant.code, StockPlant.supplier_reference).order_by(
        StockPlant.id
    )
    found: dict[str, int] = {}
    by_code: dict[str, int] = {}
    for row in session.execute(query):
        found.setdefault(name_key(row.supplier_reference), row.id)
        by_code[name_key(row.code)] = row.id
    return found | by_code


def _alike(plants: Mapping[str, PlantId]) -> Mapping[str, str]:
    """Return the plain line for each folded one that only one name has."""
    folded: dict[str, list[str]] = {}
    for plain in plants:
        folded.setdefault(folded_plant(plain), []).append(plain)
    return {key: plains[0] for key, plains in folded.items() if len(plains) == 1}


def _mixes(session: Session) -> Mapping[str, MixId]:
    newest = (
        select(MixVersion.mix_id, func.max(MixVersion.number).label("number"))
        .group_by(MixVersion.mix_id)
        .subquery()
    )
    query = (
        select(Mix.id, Mix.name, MixVersion.id.label("version_id"))
        .join(newest, newest.c.mix_id == Mix.id)
        .join(
            MixVersion,
            (MixVersion.mix_id == newest.c.mix_id) & (MixVersion.number == newest.c.number),
        )
    )
    return {
        name_key(row.name): MixId(id=row.id, version_id=row.version_id)
        for row in session.execute(query)
    }


def _hormone(substance: str, form: str, ppm: int) -> Hormone:
    return Hormone(substance=substance, form=form, ppm=None if ppm < 0 else ppm)
