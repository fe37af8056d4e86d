"""Reading mixes: their recipes, and what was stuck in them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import and_, func, select
from sqlalchemy.orm import Session

from app.domain.mixes import MixPart, recipe_words
from app.domain.plant_names import NamePiece, kept_plant_name
from app.domain.problems import NotFound
from app.store.models.batches import Batch, BatchFacts
from app.store.models.mixes import Ingredient, Mix, MixVersion
from app.store.models.mixes import MixPart as PartRow
from app.store.models.plant_names import PlantNameRow


@dataclass(frozen=True, kw_only=True)
class KnownVersion:
    """A recipe: `shrinkage_share` 0 to 0.5 or None, `batches` stuck in it (voided ones not)."""

    id: int
    number: int
    made_at: datetime
    parts: tuple[MixPart, ...]
    shrinkage_share: float | None
    notes: str
    batches: int

    @property
    def words(self) -> str:
        """The recipe in words."""
        return recipe_words(self.parts)


@dataclass(frozen=True, kw_only=True)
class KnownMix:
    """A mix with its versions, the newest first; that one holds now."""

    id: int
    name: str
    version: int
    retired: bool
    versions: tuple[KnownVersion, ...]

    @property
    def newest(self) -> KnownVersion:
        """The version that holds now."""
        return self.versions[0]

    @property
    def batches(self) -> int:
        """How many batches were stuck in any version of it."""
        return sum(version.batches for version in self.versions)


@dataclass(frozen=True, kw_only=True)
class BatchInMix:
    """A batch that was stuck in a mix, with its counts; `number` is that of the mix version."""

    code: str
    plant: str
    number: int
    stuck_on: date
    stuck: int
    rooted: int
    unrooted: int
    lost: int
    dumped: int
    cleared_unrooted: int
    cutting_type: str = ""

    @property
    def pieces(self) -> tuple[NamePiece, ...]:
        """The plant's name as printed."""
        return kept_plant_name(self.plant).pieces


@dataclass(frozen=True, kw_only=True)
class MixChoice:
    """A mix as a batch is given it: the newest version that holds now."""

    mix_version_id: int
    name: str


def list_mixes(session: Session, *, retired: bool = False) -> tuple[KnownMix, ...]:
    """Return the mixes in use by name, or with `retired` all of them."""
    query = select(Mix.id, Mix.name, Mix.version, Mix.retired_at).order_by(func.lower(Mix.name))
    if not retired:
        query = query.where(Mix.retired_at.is_(None))
    rows = session.execute(query).all()
    versions = _versions(session, mix_ids=[row.id for row in rows])
    return tuple(
        KnownMix(
            id=row.id,
            name=row.name,
            version=row.version,
            retired=row.retired_at is not None,
            versions=tuple(versions[row.id]),
        )
        for row in rows
    )


def get_mix(session: Session, *, mix_id: int) -> KnownMix:
    """Return one mix.

    Raises:
        NotFound: there is none with this id.
    """
    row = session.execute(
        select(Mix.name, Mix.version, Mix.retired_at).where(Mix.id == mix_id)
    ).one_or_none()
    if row is None:
        raise NotFound("This mix is not in the list.")
    return KnownMix(
        id=mix_id,
        name=row.name,
        version=row.version,
        retired=row.retired_at is not None,
        versions=tuple(_versions(session, mix_ids=[mix_id])[mix_id]),
    )


def list_mix_choices(session: Session) -> tuple[MixChoice, ...]:
    """Return what can be chosen for a new batch: the newest version of each mix in use."""
    newest = (
        select(MixVersion.mix_id, func.max(MixVersion.number).label("number"))
        .group_by(MixVersion.mix_id)
        .subquery()
    )
    query = (
        select(MixVersion.id, Mix.name)
        .join(Mix, Mix.id == MixVersion.mix_id)
        .join(newest, and_(newest.c.mix_id == Mix.id, newest.c.number == MixVersion.number))
        .where(Mix.retired_at.is_(None))
        .order_by(func.lower(Mix.name))
    )
    return tuple(MixChoice(mix_version_id=row.id, name=row.name) for row in session.execute(query))


def list_ingredients(session: Session) -> tuple[str, ...]:
    """Return the names of the ingredients that any recipe names, in order."""
    used = select(PartRow.ingredient_id)
    query = select(Ingredient.name).where(Ingredient.id.in_(used))
    return tuple(session.scalars(query.order_by(func.lower(Ingredient.name))))


def list_batches_in_mix(
    session: Session, *, mix_id: int, limit: int = 50
) -> tuple[BatchInMix, ...]:
    """Return the batches last stuck in a mix, the newest first, at most `limit`."""
    query = (
        select(
            Batch.code,
            PlantNameRow.plain.label("plant"),
            MixVersion.number,
            Batch.stuck_on,
            Batch.stuck,
            BatchFacts.rooted,
            BatchFacts.unrooted,
            BatchFacts.lost,
            BatchFacts.dumped,
            BatchFacts.cleared_unrooted,
            Batch.cutting_type,
        )
        .join(MixVersion, MixVersion.id == Batch.mix_version_id)
        .join(PlantNameRow, PlantNameRow.id == Batch.plant_name_id)
        .join(BatchFacts, BatchFacts.batch_id == Batch.id)
        .where(MixVersion.mix_id == mix_id, Batch.voided_at.is_(None))
        .order_by(Batch.stuck_on.desc(), Batch.id.desc())
        .limit(limit)
    )
    return tuple(BatchInMix(**row._mapping) for row in session.execute(query))


def _versions(session: Session, *, mix_ids: Iterable[int]) -> dict[int, list[KnownVersion]]:
    ids = list(mix_ids)
    stuck = (
        select(Batch.mix_version_id, func.count().label("batches"))
        .where(Batch.mix_version_id.is_not(None), Batch.voided_at.is_(None))
        .group_by(Batch.mix_version_id)
        .subquery()
    )
    query = (
        select(MixVersion.__table__, func.coalesce(stuck.c.batches, 0).label("batches"))
        .outerjoin(stuck, stuck.c.mix_version_id == MixVersion.id)
        .where(MixVersion.mix_id.in_(ids))
        .order_by(MixVersion.number.desc())
    )
    parts = _parts(session, mix_ids=ids)
    found: dict[int, list[KnownVersion]] = {mix_id: [] for mix_id in ids}
    for row in session.execute(query):
        version = KnownVersion(
            id=row.id,
            number=row.number,
            made_at=row.made_at,
            parts=tuple(parts.get(row.id, ())),
            shrinkage_share=row.shrinkage_share,
            notes=row.notes,
            batches=row.batches,
        )
        found[row.mix_id].append(version)
    return found


def _parts(session: Session, *, mix_ids: list[int]) -> dict[int, list[MixPart]]:
    query = (
        select(PartRow.mix_version_id, Ingredient.name, PartRow.parts)
        .join(Ingredient, Ingredient.id == PartRow.ingredient_id)
        .join(MixVersion, MixVersion.id == PartRow.mix_version_id)
        .where(MixVersion.mix_id.in_(mix_ids))
        .order_by(PartRow.position)
    )
    found: dict[int, list[MixPart]] = {}
    for version_id, name, parts in session.execute(query):
        found.setdefault(version_id, []).append(MixPart(ingredient=name, parts=parts))
    return found
