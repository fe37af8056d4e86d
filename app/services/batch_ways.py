"""Storing what is said of batches and checks by their way alone."""

from sqlalchemy import delete, insert
from sqlalchemy.orm import Session

from app.domain.problems import NotAccepted
from app.domain.way_details import WayDetails, plantlet_problem
from app.store.models.batch_ways import BatchWay, CheckPlantlets
from app.store.queries.batch_ways import find_type_of_check

_WORDS = ("way_up", "leaf_part", "scale_kind", "graft_method")


def write_details(session: Session, *, batch_id: int, details: WayDetails) -> None:
    """Store the details of a batch in place of those before."""
    session.execute(delete(BatchWay).where(BatchWay.batch_id == batch_id))
    if details.is_blank:
        return
    words = {name: getattr(details, name) for name in _WORDS}
    values = {
        **{name: word.value if word else "" for name, word in words.items()},
        "rootstock_id": details.rootstock_id,
        "rootstock_source": details.rootstock_source,
        "union_cm": details.union_cm,
    }
    session.execute(insert(BatchWay).values(batch_id=batch_id, **values))


def write_plantlets(
    session: Session, *, check_id: int, version_id: int, plantlets: int | None
) -> None:
    """Store the plantlets counted at a version of a check, if any.

    Raises:
        NotAccepted: at "plantlets", the batch is none of pieces, or the number cannot be.
    """
    if plantlets is None:
        return
    kind = find_type_of_check(session, check_id=check_id)
    if problem := plantlet_problem(plantlets, cutting_type=kind):
        raise NotAccepted((problem,))
    values = {"check_version_id": version_id, "plantlets": plantlets}
    session.execute(insert(CheckPlantlets).values(**values))
