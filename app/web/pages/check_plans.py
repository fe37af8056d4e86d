"""Pages of check plans: all of them, the nursery's, a genus's, a batch's."""

from flask import Blueprint, abort, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.check_plans import PlanLevel, Plans, choose_plan, plan_words
from app.domain.cutting_types import CuttingType
from app.domain.due import batch_count
from app.domain.permissions import Permission
from app.domain.problems import NotAccepted
from app.services.batch_facts import plan_of_batch
from app.services.check_plans import NURSERY_PLACE, PlanPlace, set_plan
from app.store.queries.batches import get_batch
from app.store.queries.check_plans import (
    StoredPlan,
    find_genus_id,
    find_plan,
    get_genus_name,
    list_batch_plans,
    list_card_times,
    list_genus_plans,
)
from app.store.queries.outlooks import find_outlook
from app.web.forms.check_plans import CheckPlanForm, GenusPlanForm, typed_plan
from app.web.permissions import allow
from app.web.requests import actor, db, now, status_of, submit
from app.web.results import Saved

blueprint = Blueprint("check_plans", __name__)


@blueprint.route("/check-plans")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List every plan with what it leaves to wider ones."""
    nursery = find_plan(db(), level=PlanLevel.NURSERY)
    return render_template(
        "check_plans/list.html",
        nursery_words=plan_words(choose_plan(Plans(nursery=nursery.plan))),
        genera=list_genus_plans(db()),
        batches=list_batch_plans(db()),
    )


@blueprint.route("/check-plans/nursery", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def edit_nursery() -> ResponseReturnValue:
    """Set the plan for the whole nursery."""
    return _edit(NURSERY_PLACE, back="/check-plans", about="the whole nursery")


@blueprint.route("/check-plans/genera/new", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def create_for_genus() -> ResponseReturnValue:
    """Set a plan for a genus that has none yet."""
    form = GenusPlanForm(data={"version": 0})

    def save(session: Session) -> Saved:
        genus = (form.genus.data or "").strip()
        genus_id = find_genus_id(session, name=genus)
        if genus_id is None:
            sentence = f"{genus or 'This genus'} is not known here yet. Stick a batch of it first."
            raise NotAccepted.at("genus", sentence)
        place = PlanPlace(
            level=PlanLevel.GENUS, genus_id=genus_id, cutting_type=form.cutting_type.data
        )
        stored = _stored(session, place)
        if not stored.plan.is_blank:
            raise NotAccepted.at("genus", "There is such a plan already: change that one.")
        return _save(session, form, place=place, version=stored.version, back="/check-plans")

    answer = submit(form, save)
    return answer or (render_template("check_plans/new.html", form=form), status_of(form))


@blueprint.route("/check-plans/genera/<int:genus_id>", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def edit_genus(genus_id: int) -> ResponseReturnValue:
    """Change the plan of a genus, or of the type named in the address."""
    cutting_type = request.args.get("type", "")
    if cutting_type and cutting_type not in set(CuttingType):
        abort(404)
    place = PlanPlace(level=PlanLevel.GENUS, genus_id=genus_id, cutting_type=cutting_type)
    genus = get_genus_name(db(), genus_id=genus_id)
    times = [
        (species, time)
        for species, kind, time in list_card_times(db(), genus_id=genus_id)
        if not cutting_type or kind == cutting_type
    ]
    return _edit(place, back="/check-plans", plant=genus, kind=cutting_type, times=times)


@blueprint.route("/batches/<code>/check-plan")
@allow(Permission.READ)
def show_batch(code: str) -> ResponseReturnValue:
    """Tell what plan holds for one batch; whoever keeps plans sees the form for another."""
    return _batch_plan(code)


@blueprint.route("/batches/<code>/check-plan", methods=["POST"])
@allow(Permission.KEEP_REGISTERS)
def edit_batch(code: str) -> ResponseReturnValue:
    """Set a plan for one batch."""
    return _batch_plan(code)


def _batch_plan(code: str) -> ResponseReturnValue:
    batch = get_batch(db(), code=code)
    if batch.code != code:
        return redirect(url_for("check_plans.show_batch", code=batch.code))
    place = PlanPlace(level=PlanLevel.BATCH, batch_id=batch.id)
    outlook = find_outlook(db(), batch_id=batch.id)
    return _edit(
        place,
        back=f"/batches/{batch.code}",
        about=batch.code,
        plant=batch.plant,
        holds=plan_words(plan_of_batch(db(), batch_id=batch.id)),
        learned=outlook.basis if outlook else "",
    )


def _stored(session: Session, place: PlanPlace) -> StoredPlan:
    return find_plan(
        session,
        level=place.level,
        genus_id=place.genus_id,
        cutting_type=place.cutting_type,
        batch_id=place.batch_id,
    )


def _edit(
    place: PlanPlace,
    *,
    back: str,
    about: str = "",
    plant: str = "",
    kind: str = "",
    **told: object,
) -> ResponseReturnValue:
    """Answer for the form of one plan; `about`, `plant` and `kind` say what it is for."""
    stored = _stored(db(), place)
    form = CheckPlanForm(data=typed_plan(stored.plan, version=stored.version))

    def save(session: Session) -> Saved:
        return _save(session, form, place=place, version=form.version.data, back=back)

    answer = submit(form, save)
    if answer:
        return answer
    words = {"about": about, "plant": plant, "kind": kind, "back": back}
    return render_template("check_plans/edit.html", form=form, **words, **told), status_of(form)


def _save(
    session: Session, form: CheckPlanForm, *, place: PlanPlace, version: int, back: str
) -> Saved:
    moved = set_plan(
        session, actor=actor(), now=now(), place=place, version=version, plan=form.plan()
    )
    message = f"The check plan is set. Next dates worked out afresh: {batch_count(moved)}."
    return Saved(location=back, message=message)
