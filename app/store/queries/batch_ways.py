"""Reading what is said of batches and checks by their way alone."""

from collections.abc import Iterable, Mapping

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.way_details import (
    NOTHING,
    GraftMethod,
    LeafPart,
    ScaleKind,
    WayDetails,
    WayUp,
)
from app.store.models.batch_ways import BatchWay, CheckPlantlets
from app.store.models.batches import Batch
from app.store.models.checks import Check, CheckVersion
from app.store.models.plant_names import PlantNameRow

_CHUNK = 500


def get_way_details(session: Session, *, batch_id: int) -> WayDetails:
    """Return the details of a batch, nothing where none are recorded."""
    row = session.get(BatchWay, batch_id)
    if row is None:
        return NOTHING
    return WayDetails(
        way_up=WayUp(row.way_up) if row.way_up else None,
        leaf_part=LeafPart(row.leaf_part) if row.leaf_part else None,
        scale_kind=ScaleKind(row.scale_kind) if row.scale_kind else None,
        graft_method=GraftMethod(row.graft_method) if row.graft_method else None,
        rootstock_id=row.rootstock_id,
        rootstock_source=row.rootstock_source,
        union_cm=row.union_cm,
    )


def find_rootstock(session: Session, *, rootstock_id: int | None) -> str:
    """Return the name of a rootstock, "" without one."""
    query = select(PlantNameRow.plain).where(PlantNameRow.id == rootstock_id)
    return "" if rootstock_id is None else session.scalar(query) or ""


def find_type_of_check(session: Session, *, check_id: int) -> str:
    """Return the cutting type of the batch of a check, "" where none is recorded."""
    query = (
        select(Batch.cutting_type)
        .join(Check, Check.batch_id == Batch.id)
        .where(Check.id == check_id)
    )
    return session.scalar(query) or ""


def plantlets_by_check(session: Session, *, check_ids: Iterable[int]) -> Mapping[int, int]:
    """Return the plantlets counted by the newest version of each check that has any, by its id."""
    wanted = sorted(set(check_ids))
    found: dict[int, int] = {}
    for start in range(0, len(wanted), _CHUNK):
        query = (
            select(Check.id, CheckPlantlets.plantlets)
            .join(CheckVersion, CheckVersion.id == CheckPlantlets.check_version_id)
            .join(Check, Check.id == CheckVersion.check_id)
            .where(
                Check.id.in_(wanted[start : start + _CHUNK]),
                CheckVersion.number == Check.version,
            )
        )
        found |= {row.id: row.plantlets for row in session.execute(query)}
    return found
