"""Reading what the round shows of each batch beside what is due: places in its tray, cautions."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.containers import ContainerKind
from app.store.models.batches import Batch
from app.store.models.containers import Container
from app.store.models.genera import Genus
from app.store.models.plant_names import PlantNameRow


@dataclass(frozen=True, kw_only=True)
class RoundNote:
    """Of one batch: the places of its tray (None for none), its genus and the genus's caution."""

    in_trays: bool
    places: int | None
    genus: str
    caution: str
    caution_applies_to: str
    caution_basis: str


def round_notes(session: Session, *, batch_ids: Iterable[int]) -> Mapping[int, RoundNote]:
    """Return what the round shows of each batch, by its id."""
    query = (
        select(
            Batch.id,
            Container.kind,
            Container.plugs,
            Genus.name,
            Genus.caution,
            Genus.caution_applies_to,
            Genus.caution_basis,
        )
        .join(PlantNameRow, PlantNameRow.id == Batch.plant_name_id)
        .join(Genus, Genus.id == PlantNameRow.genus_id)
        .outerjoin(Container, Container.id == Batch.container_id)
        .where(Batch.id.in_(sorted(set(batch_ids))))
    )
    return {
        row.id: RoundNote(
            in_trays=row.kind == ContainerKind.TRAY,
            places=row.plugs if row.kind == ContainerKind.TRAY else None,
            genus=row.name,
            caution=row.caution,
            caution_applies_to=row.caution_applies_to,
            caution_basis=row.caution_basis,
        )
        for row in session.execute(query)
    }
