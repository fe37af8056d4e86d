"""Reading what a preparing sheet is made from: what can be chosen, what was done last, cautions."""

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.genus_cautions import caution_words, genus_caution
from app.domain.preparing_sheets import ContainerMeasure, MixRecipe
from app.store.models.batches import Batch
from app.store.models.benches import Bench
from app.store.models.containers import Container
from app.store.models.genera import Genus
from app.store.models.hormones import HormoneRow
from app.store.models.mixes import Mix, MixVersion
from app.store.models.plant_names import PlantNameRow
from app.store.queries.benches import list_loaded_benches
from app.store.queries.containers import list_containers
from app.store.queries.hormones import list_hormones
from app.store.queries.mixes import list_mixes


@dataclass(frozen=True, kw_only=True)
class PreparingChoices:
    """What a line can name, by name; `room` is in trays, None for a bench without a measure."""

    plants: tuple[str, ...]
    containers: dict[str, ContainerMeasure]
    mixes: dict[str, MixRecipe]
    hormones: tuple[str, ...]
    room: dict[str, int | None]


@dataclass(frozen=True, kw_only=True)
class LastTime:
    """How a plant was stuck the last time, each "" where that was not recorded."""

    code: str
    container: str
    mix: str
    hormone: str
    bench: str
    per_place: int


@dataclass(frozen=True, kw_only=True)
class PlantCaution:
    """What to mind about a genus; never empty, also where none is recorded."""

    genus: str
    words: str


def list_preparing_choices(session: Session) -> PreparingChoices:
    """Return the containers, mixes and benches in use, the hormones known, and plant names."""
    return PreparingChoices(
        plants=tuple(session.scalars(select(PlantNameRow.plain).order_by(PlantNameRow.plain))),
        containers={
            each.name: ContainerMeasure(
                name=each.name, kind=each.kind, plugs=each.plugs, volume_ml=each.volume_ml
            )
            for each in list_containers(session)
        },
        mixes={
            each.name: MixRecipe(
                name=each.name,
                parts=each.newest.parts,
                shrinkage_share=each.newest.shrinkage_share,
            )
            for each in list_mixes(session)
        },
        hormones=tuple(each.label for each in list_hormones(session)),
        room={
            each.bench.name: None
            if each.bench.capacity_trays is None
            else each.bench.capacity_trays - each.trays
            for each in list_loaded_benches(session)
            if not each.bench.closed
        },
    )


def find_last_time(session: Session, *, plant: str) -> LastTime | None:
    """Return how the newest batch of this very name was stuck; None if there was none.

    What is no longer in use is left out.
    """
    row = session.execute(
        select(
            Batch.code,
            Container.name.label("container"),
            Mix.name.label("mix"),
            HormoneRow.label.label("hormone"),
            Bench.name.label("bench"),
            Batch.per_place,
        )
        .join(PlantNameRow, PlantNameRow.id == Batch.plant_name_id)
        .outerjoin(
            Container,
            (Container.id == Batch.container_id) & Container.retired_at.is_(None),
        )
        .outerjoin(MixVersion, MixVersion.id == Batch.mix_version_id)
        .outerjoin(Mix, (Mix.id == MixVersion.mix_id) & Mix.retired_at.is_(None))
        .outerjoin(HormoneRow, HormoneRow.id == Batch.hormone_id)
        .outerjoin(Bench, (Bench.id == Batch.bench_id) & Bench.closed_at.is_(None))
        .where(func.lower(PlantNameRow.plain) == plant.lower(), Batch.voided_at.is_(None))
        .order_by(Batch.stuck_on.desc(), Batch.id.desc())
        .limit(1)
    ).one_or_none()
    if row is None:
        return None
    return LastTime(
        code=row.code,
        container=row.container or "",
        mix=row.mix or "",
        hormone=row.hormone or "",
        bench=row.bench or "",
        per_place=row.per_place or 1,
    )


def list_plant_cautions(session: Session, *, plants: Iterable[str]) -> tuple[PlantCaution, ...]:
    """Return the caution of each genus among the plants, in the order they come."""
    genera = list(dict.fromkeys(_genus(plant) for plant in plants))
    rows = session.execute(select(Genus.__table__).where(Genus.name.in_(genera)))
    kept = {row.name: row for row in rows}
    found = []
    for genus in genera:
        if genus in kept:
            row = kept[genus]
            words = caution_words(
                row.caution, applies_to=row.caution_applies_to, basis=row.caution_basis
            )
        else:
            known = genus_caution(genus)
            words = (
                caution_words(known.caution, applies_to=known.applies_to, basis=known.basis)
                if known
                else caution_words("")
            )
        found.append(PlantCaution(genus=genus, words=words))
    return tuple(found)


def _genus(plant: str) -> str:
    words = plant.replace("×", "x ").split()
    named = [word for word in words if word.lower() != "x"]
    return named[0].capitalize() if named else ""
