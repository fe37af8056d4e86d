"""Setting check plans: for the whole nursery, for a genus and type, for one batch.

Whoever sets a plan also brings the next dates of the open batches concerned up to date.
"""

from dataclasses import asdict, dataclass
from datetime import datetime

from sqlalchemy import literal_column, select
from sqlalchemy.orm import Session

from app.domain.check_plans import CheckPlan, PlanLevel, accepted_plan
from app.domain.people import Actor
from app.domain.permissions import Permission, allowed
from app.domain.problems import ChangedMeanwhile, NotAllowed, NotFound
from app.services.batch_facts import refresh_dates
from app.services.corrections import correct_row
from app.services.history import JsonValue, record_change
from app.store.models.batches import Batch, BatchFacts
from app.store.models.check_plans import CheckPlanRow
from app.store.models.genera import Genus


@dataclass(frozen=True, kw_only=True)
class PlanPlace:
    """What a plan is for: the nursery, a genus (and a type), or a batch."""

    level: PlanLevel
    genus_id: int | None = None
    cutting_type: str = ""
    batch_id: int | None = None


NURSERY_PLACE = PlanPlace(level=PlanLevel.NURSERY)


def set_plan(
    session: Session,
    *,
    actor: Actor,
    now: datetime,
    place: PlanPlace,
    version: int,
    plan: CheckPlan,
) -> int:
    """Set a plan and return how many open batches got their next dates afresh.

    A plan set blank leaves everything to the next wider one. `version` is that of the plan on
    the screen, 0 where none was set before.

    Raises:
        NotAccepted: a number is out of range.
        NotAllowed: the actor does not keep plans.
        ChangedMeanwhile: somebody else set it after `version` was read.
        NotFound: there is no such genus or batch.
    """
    if not allowed(actor.role, Permission.KEEP_REGISTERS):
        raise NotAllowed("The head propagator sets check plans.")
    subject = _subject(session, place)
    change = _write(session, place, version=version, plan=accepted_plan(plan))
    if not change:
        return 0
    record_change(
        session, actor=actor, now=now, what="check plan set", subject=subject, change=change
    )
    return refresh_open_batches(
        session,
        genus_id=place.genus_id,
        cutting_type=place.cutting_type,
        batch_id=place.batch_id,
    )


def refresh_open_batches(
    session: Session,
    *,
    genus_id: int | None = None,
    cutting_type: str = "",
    batch_id: int | None = None,
) -> int:
    """Work out the next dates of open batches afresh and return how many there were.

    Without further words all of them; else those of a genus, a type, or one batch. Also to be
    called when a method card's weeks to root change.
    """
    query = select(BatchFacts.batch_id).where(
        literal_column("batch_facts.open") == literal_column("1")
    )
    if genus_id is not None:
        query = query.where(BatchFacts.genus_id == genus_id)
    if cutting_type:
        query = query.where(BatchFacts.cutting_type == cutting_type)
    if batch_id is not None:
        query = query.where(BatchFacts.batch_id == batch_id)
    return refresh_dates(session, batch_ids=session.scalars(query).all())


def _write(
    session: Session, place: PlanPlace, *, version: int, plan: CheckPlan
) -> dict[str, JsonValue]:
    """Store the plan and return what changed of it."""
    row = session.scalars(
        select(CheckPlanRow).where(
            CheckPlanRow.level == place.level,
            CheckPlanRow.genus_id.is_not_distinct_from(place.genus_id),
            CheckPlanRow.cutting_type == place.cutting_type,
            CheckPlanRow.batch_id.is_not_distinct_from(place.batch_id),
        )
    ).one_or_none()
    if row is not None:
        change = correct_row(row, version=version, after=asdict(plan))
        session.flush()
        return change
    if version != 0:
        raise ChangedMeanwhile(version=0)
    if plan.is_blank:
        return {}
    session.add(CheckPlanRow(**asdict(place), **asdict(plan)))
    session.flush()
    return {field: [None, value] for field, value in asdict(plan).items() if value is not None}


def _subject(session: Session, place: PlanPlace) -> str:
    if place.level is PlanLevel.NURSERY:
        return "check plan of the nursery"
    if place.level is PlanLevel.BATCH:
        code = session.scalar(select(Batch.code).where(Batch.id == place.batch_id))
        if code is None:
            raise NotFound("There is no such batch.")
        return f"batch {code}, check plan"
    genus = session.scalar(select(Genus.name).where(Genus.id == place.genus_id))
    if genus is None:
        raise NotFound("This genus is not known here yet.")
    words = f" {place.cutting_type}" if place.cutting_type else ""
    return f"check plan of {genus}{words}"
