"""The sheet of check plans: for the whole nursery, a genus, a genus and type, or one batch."""

from dataclasses import fields
from typing import Final

from sqlalchemy import select

from app.domain.check_plans import CheckPlan, PlanLevel
from app.domain.codes import parse_batch_code
from app.domain.notebook_cells import read_cutting_type
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.domain.record_sheets import RecordColumn, Values
from app.domain.sheet_cells import read_whole, read_yes
from app.services.check_plans import NURSERY_PLACE, PlanPlace, set_plan
from app.services.record_sheets import Kept, SheetKind, Work
from app.services.sheet_names import batch_of
from app.store.models.check_plans import CheckPlanRow
from app.store.models.genera import Genus
from app.store.queries.record_exports import CHECK_PLANS, NURSERY_PLAN

_FIELDS: Final = tuple(field.name for field in fields(CheckPlan))


def _place(work: Work, typed: str) -> PlanPlace:
    """Return what a plan is for: "whole nursery", "Hebe", "Hebe: softwood" or "26-0147"."""
    if typed.casefold() == NURSERY_PLAN:
        return NURSERY_PLACE
    if parse_batch_code(typed) is not None:
        batch_id = batch_of(work, typed=typed, column="plan")
        return PlanPlace(level=PlanLevel.BATCH, batch_id=batch_id)
    genus, _, cutting_type = (part.strip() for part in typed.partition(":"))
    genus_id = work.session.scalar(select(Genus.id).where(Genus.name == genus))
    if genus_id is None:
        sentence = (
            f"“{typed}” is not what a plan is for. Put {NURSERY_PLAN}, a genus of the log, genus "
            "and type such as Hebe: softwood, or the code of a batch."
        )
        raise NotAccepted.at("plan", sentence)
    kind = read_cutting_type(cutting_type).value if cutting_type else ""
    return PlanPlace(level=PlanLevel.GENUS, genus_id=genus_id, cutting_type=kind)


def _add(work: Work, values: Values) -> None:
    plan = CheckPlan(**{field: values[field] for field in _FIELDS})
    place = _place(work, values["plan"])
    set_plan(work.session, actor=_who(work), now=work.now, place=place, version=0, plan=plan)


def _correct(work: Work, kept: Kept, values: Values) -> None:
    row = work.session.get_one(CheckPlanRow, kept.id)
    place = PlanPlace(
        level=PlanLevel(row.level),
        genus_id=row.genus_id,
        cutting_type=row.cutting_type,
        batch_id=row.batch_id,
    )
    plan = CheckPlan(**{field: values.get(field, getattr(row, field)) for field in _FIELDS})
    set_plan(
        work.session,
        actor=_who(work),
        now=work.now,
        place=place,
        version=row.version,
        plan=plan,
    )


def _who(work: Work) -> Actor:
    if work.actor is None:
        raise NotAccepted.at("", "Say who sets plans: strikewell import FILE --as PERSON.")
    return work.actor


CHECK_PLAN_SHEET: Final = SheetKind(
    name="check-plans",
    table=CHECK_PLANS,
    key="plan",
    columns=(
        RecordColumn(name="plan", must=True),
        RecordColumn(name="look_every_days", read=read_whole, blank=None),
        RecordColumn(name="first_count_day", read=read_whole, blank=None),
        RecordColumn(name="count_every_days", read=read_whole, blank=None),
        RecordColumn(name="looks_only", read=read_yes, blank=None),
        RecordColumn(name="learned", read=read_yes, blank=None),
    ),
    columns_of={"cutting_type": "plan"},
    add=_add,
    correct=_correct,
    most=200,
)
