"""Reading mix lots: the list, one, what was stuck from it, what is left, how mixes shrank."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Row, Select, and_, func, select
from sqlalchemy.orm import Session

from app.domain.codes import parse_mix_lot_code
from app.domain.mix_lots import LotIngredient, MixLotEntry, litres_for, pooled_shrinkage
from app.domain.problems import NotFound
from app.store.models.batches import Batch
from app.store.models.containers import Container
from app.store.models.mixes import (
    Ingredient,
    Mix,
    MixLot,
    MixLotIngredient,
    MixLotMeasures,
    MixLotUse,
    MixVersion,
)
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.queries.mix_lot_pottings import list_lot_pottings

_MEASURES = (
    "asked_l", "extraction", "medium_ec", "medium_ph", "water_ec", "water_ph", "container",
    "container_ml", "saturation_ml", "drained_ml",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class LotBatch:
    """A batch stuck from a lot: litres used, None where not known; `said` if somebody said so."""

    batch_id: int
    code: str
    plant: str
    stuck_on: date
    stuck: int
    litres: float | None
    said: bool


@dataclass(frozen=True, kw_only=True)
class KnownMixLot:
    """A mix lot with its names; `used_l` is what was used of it as far as that is known."""

    id: int
    code: str
    mix_id: int
    mix: str
    number: int
    version: int
    entry: MixLotEntry
    made_by: str
    recorded_by_id: int | None
    made_at: datetime | None
    empty_on: date | None
    voided: bool
    void_reason: str
    batches: int
    pottings: int
    used_l: float

    @property
    def left_l(self) -> float | None:
        """Litres left, None where nobody measured what came out; never below 0."""
        if self.entry.litres is None:
            return None
        return 0.0 if self.empty_on else max(0.0, self.entry.litres - self.used_l)

    @property
    def over_l(self) -> float:
        """How many litres more were used than came out, 0 where that is not so."""
        return max(0.0, self.used_l - self.entry.litres) if self.entry.litres else 0.0


@dataclass(frozen=True, kw_only=True)
class MeasuredShrinkage:
    """By how much the lots of a recipe shrank together, 0 to 1, and how many were measured."""

    share: float
    lots: int


def list_mix_lots(
    session: Session, *, mix_id: int | None = None, usable: bool = False, limit: int = 200
) -> tuple[KnownMixLot, ...]:
    """Return mix lots, the newest first; with `usable` only those neither empty nor void."""
    query = _lots().order_by(MixLot.number.desc()).limit(limit)
    if mix_id is not None:
        query = query.where(MixVersion.mix_id == mix_id)
    if usable:
        query = query.where(MixLotMeasures.empty_on.is_(None), MixLotMeasures.voided_at.is_(None))
    return _known(session, session.execute(query).all())


def has_mix_lot(session: Session, *, number: int) -> bool:
    """Return whether there is a mix lot of this number."""
    return session.scalar(select(MixLot.id).where(MixLot.number == number)) is not None


def get_mix_lot(session: Session, *, code: str) -> KnownMixLot:
    """Return one mix lot by its code.

    Raises:
        NotFound: there is none with this code.
    """
    query = _lots().where(MixLot.number == (parse_mix_lot_code(code) or 0))
    found = _known(session, session.execute(query).all())
    if not found:
        raise NotFound(f"There is no mix lot {code}. Its code is like M-0001.")
    return found[0]


def list_lot_batches(session: Session, *, lot_ids: Iterable[int]) -> Mapping[int, list[LotBatch]]:
    """Return the batches stuck from each of these lots, the first one first; void ones not."""
    found: dict[int, list[LotBatch]] = {}
    for row in session.execute(_batches().where(Batch.mix_lot_id.in_(list(lot_ids)))):
        found.setdefault(row.mix_lot_id, []).append(_batch(row))
    return found


def find_measured_shrinkage(session: Session, *, mix_version_id: int) -> MeasuredShrinkage | None:
    """Return by how much the lots of a recipe shrank, None where none was measured."""
    line = MixLotIngredient
    going_in = (
        select(line.mix_lot_id, func.sum(line.litres).label("litres"))
        .group_by(line.mix_lot_id)
        .having(func.count() == func.count(line.litres))
        .subquery()
    )
    query = (
        select(going_in.c.litres, MixLot.litres)
        .join(going_in, going_in.c.mix_lot_id == MixLot.id)
        .outerjoin(MixLotMeasures, MixLotMeasures.mix_lot_id == MixLot.id)
        .where(
            MixLot.mix_version_id == mix_version_id,
            MixLot.litres.is_not(None),
            MixLotMeasures.voided_at.is_(None),
        )
    )
    known = [(row[0], row[1] or 0.0) for row in session.execute(query)]
    share = pooled_shrinkage(known)
    return None if share is None else MeasuredShrinkage(share=share, lots=len(known))


def lot_ingredients(
    session: Session, *, lot_ids: Sequence[int]
) -> Mapping[int, tuple[LotIngredient, ...]]:
    """Return what went into each of these lots, in its order."""
    query = (
        select(MixLotIngredient.__table__, Ingredient.name)
        .join(Ingredient, Ingredient.id == MixLotIngredient.ingredient_id)
        .where(MixLotIngredient.mix_lot_id.in_(lot_ids))
        .order_by(MixLotIngredient.position)
    )
    found: dict[int, tuple[LotIngredient, ...]] = {}
    for row in session.execute(query):
        one = LotIngredient(
            ingredient=row.name,
            supplier_lot=row.supplier_lot,
            litres=row.litres,
            bags=row.bags,
            bag_l=row.bag_l,
        )
        found[row.mix_lot_id] = (*found.get(row.mix_lot_id, ()), one)
    return found


def _batches() -> Select[*tuple[Any, ...]]:
    return (
        select(
            Batch.mix_lot_id,
            Batch.id,
            Batch.code,
            PlantNameRow.plain,
            Batch.stuck_on,
            Batch.stuck,
            Batch.trays,
            Batch.per_place,
            Container.volume_ml,
            Container.plugs,
            MixLotUse.litres.label("said"),
        )
        .join(PlantNameRow, PlantNameRow.id == Batch.plant_name_id)
        .outerjoin(Container, Container.id == Batch.container_id)
        .outerjoin(
            MixLotUse,
            and_(MixLotUse.batch_id == Batch.id, MixLotUse.mix_lot_id == Batch.mix_lot_id),
        )
        .where(Batch.voided_at.is_(None))
        .order_by(Batch.stuck_on, Batch.id)
    )


def _batch(row: Row[*tuple[Any, ...]]) -> LotBatch:
    worked_out = litres_for(
        volume_ml=row.volume_ml,
        plugs=row.plugs,
        trays=row.trays,
        stuck=row.stuck,
        per_place=row.per_place,
    )
    return LotBatch(
        batch_id=row.id,
        code=row.code,
        plant=row.plain,
        stuck_on=row.stuck_on,
        stuck=row.stuck,
        litres=worked_out if row.said is None else row.said,
        said=row.said is not None,
    )


def _lots() -> Select[*tuple[Any, ...]]:
    measures = [getattr(MixLotMeasures, name) for name in _MEASURES]
    return (
        select(
            MixLot.__table__,
            *measures,
            MixLotMeasures.made_at,
            MixLotMeasures.recorded_by_id,
            MixLotMeasures.empty_on,
            MixLotMeasures.voided_at,
            func.coalesce(MixLotMeasures.void_reason, "").label("void_reason"),
            MixVersion.mix_id,
            MixVersion.number.label("version_number"),
            Mix.name.label("mix"),
            Person.name.label("made_by"),
        )
        .join(MixVersion, MixVersion.id == MixLot.mix_version_id)
        .join(Mix, Mix.id == MixVersion.mix_id)
        .outerjoin(MixLotMeasures, MixLotMeasures.mix_lot_id == MixLot.id)
        .outerjoin(Person, Person.id == MixLot.made_by_id)
    )


def _known(session: Session, rows: Sequence[Row[*tuple[Any, ...]]]) -> tuple[KnownMixLot, ...]:
    ids = [row.id for row in rows]
    ingredients = lot_ingredients(session, lot_ids=ids)
    batches = list_lot_batches(session, lot_ids=ids)
    pottings = list_lot_pottings(session, lot_ids=ids)
    return tuple(
        KnownMixLot(
            id=row.id,
            code=row.code,
            mix_id=row.mix_id,
            mix=row.mix,
            number=row.version_number,
            version=row.version,
            entry=_entry(row, ingredients.get(row.id, ())),
            made_by=row.made_by or "",
            recorded_by_id=row.recorded_by_id,
            made_at=row.made_at,
            empty_on=row.empty_on,
            voided=row.voided_at is not None,
            void_reason=row.void_reason,
            batches=len(batches.get(row.id, ())),
            pottings=len(pottings.get(row.id, ())),
            used_l=sum(
                use.litres or 0 for use in (*batches.get(row.id, ()), *pottings.get(row.id, ()))
            ),
        )
        for row in rows
    )


def _entry(row: Row[*tuple[Any, ...]], ingredients: tuple[LotIngredient, ...]) -> MixLotEntry:
    measures = {name: getattr(row, name) for name in _MEASURES}
    texts = {name: measures[name] or "" for name in ("extraction", "container")}
    return MixLotEntry(
        mix_version_id=row.mix_version_id,
        made_on=row.made_on,
        made_by_id=row.made_by_id,
        litres=row.litres,
        ingredients=ingredients,
        notes=row.notes,
        **measures | texts,
    )
