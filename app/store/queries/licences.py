"""Reading what was raised of protected varieties, by year."""

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Select, extract, func, or_, select
from sqlalchemy.orm import Session

from app.domain.licences import LicenceCount, ProtectedPlant, licence_counts
from app.store.models.batches import Batch
from app.store.models.checks import Check
from app.store.models.plant_names import PlantNameRow


def list_licence_counts(session: Session) -> tuple[LicenceCount, ...]:
    """Return every plant name with rights on it, by alphabet, and what was raised of it by year.

    Void batches and withdrawn checks are left out. Re-stuck cuttings were stuck once, so they
    count as stuck in the first batch alone, and as rooted where they rooted.
    """
    name = PlantNameRow
    protected = select(
        name.id, name.plain, name.rights_grant, name.rights_licence, name.rights_until
    ).where(or_(name.rights_grant != "", name.rights_licence != ""))
    plants = [
        ProtectedPlant(
            id=row.id,
            plant=row.plain,
            grant=row.rights_grant,
            licence=row.rights_licence,
            until=row.rights_until,
        )
        for row in session.execute(protected.order_by(name.plain))
    ]
    ids = [plant.id for plant in plants]
    year_stuck, year_rooted = extract("year", Batch.stuck_on), extract("year", Check.checked_on)
    stuck = select(Batch.plant_name_id, year_stuck, func.sum(Batch.stuck)).where(
        Batch.restuck_from_id.is_(None)
    )
    rooted = (
        select(Batch.plant_name_id, year_rooted, func.sum(Check.rooted))
        .join(Check, Check.batch_id == Batch.id)
        .where(Check.withdrawn == 0)
    )
    return licence_counts(
        plants,
        stuck=_by_year(session, stuck.group_by(Batch.plant_name_id, year_stuck), ids=ids),
        rooted=_by_year(session, rooted.group_by(Batch.plant_name_id, year_rooted), ids=ids),
    )


def _by_year(
    session: Session, query: Select[*tuple[Any, ...]], *, ids: list[int]
) -> Mapping[tuple[int, int], int]:
    live = query.where(Batch.voided_at.is_(None), Batch.plant_name_id.in_(ids))
    return {(row[0], int(row[1])): int(row[2]) for row in session.execute(live) if row[2]}
