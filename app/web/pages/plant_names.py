"""Pages of the plant names: the list, one in its parts, a new one, a correction."""

from flask import Blueprint, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.permissions import Permission
from app.domain.plant_name_entries import rights_in_force
from app.domain.plant_names import kept_plant_name
from app.services.plant_names import add_plant_name, correct_plant_name
from app.store.queries.plant_names import (
    KnownPlantName,
    PlantNamePage,
    get_plant_name,
    list_plant_names,
)
from app.store.queries.record_histories import list_history_of_named
from app.store.queries.stock_plants import list_stock_plants_of
from app.web.batch_filling import typed_day
from app.web.forms.plant_names import PlantNameForm
from app.web.permissions import allow
from app.web.requests import actor, db, moment, now, nursery, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("plant_names", __name__, url_prefix="/plant-names")


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List plant names by alphabet, or those that hold some words."""
    text = " ".join(request.args.get("find", "").split())
    page = list_plant_names(
        db(),
        text=text,
        after=request.args.get("after"),
        before=request.args.get("before"),
    )
    return render_template(
        "plant_names/list.html", page=page, text=text, pages=_neighbours(page, text)
    )


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def create() -> ResponseReturnValue:
    """Add a plant name."""
    form = PlantNameForm()

    def add(session: Session) -> Saved:
        entry = form.entry(today=today())
        added = add_plant_name(session, actor=actor(), now=now(), entry=entry)
        return Saved(
            location=url_for("plant_names.show", plant_name_id=added),
            message=f"{entry.name.plain} is saved.",
            next=url_for("plant_names.create"),
            next_words="Another name",
        )

    answer = submit(form, add)
    return answer or (
        render_template("plant_names/edit.html", form=form, known=None),
        status_of(form),
    )


@blueprint.route("/<int:plant_name_id>")
@allow(Permission.READ)
def show(plant_name_id: int) -> ResponseReturnValue:
    """Show a plant name in its parts, with its stock plants and its history."""
    known = get_plant_name(db(), plant_name_id=plant_name_id)
    protected = rights_in_force(
        known.rights_until, grant=known.rights_grant, licence=known.rights_licence, on=today()
    )
    return render_template(
        "plant_names/show.html",
        known=known,
        parts=kept_plant_name(known.plain).parts,
        protected=protected,
        stock_plants=list_stock_plants_of(
            db(), plant_name_id=plant_name_id, on=today(), moment=moment()
        ),
        history=list_history_of_named(
            db(), kind="plant name", name=known.plain, field="plain", zone=nursery().zone
        ),
        today=today(),
    )


@blueprint.route("/<int:plant_name_id>/edit", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def edit(plant_name_id: int) -> ResponseReturnValue:
    """Correct a plant name; its batches and stock plants follow."""
    known = get_plant_name(db(), plant_name_id=plant_name_id)
    form = PlantNameForm(data=_typed(known))

    def correct(session: Session) -> Saved:
        entry = form.entry(today=today())
        correct_plant_name(
            session,
            actor=actor(),
            now=now(),
            plant_name_id=plant_name_id,
            version=form.version.data,
            entry=entry,
        )
        return Saved(
            location=url_for("plant_names.show", plant_name_id=plant_name_id),
            message=f"{entry.name.plain} is saved.",
        )

    answer = submit(form, correct)
    return answer or (
        render_template("plant_names/edit.html", form=form, known=known),
        status_of(form),
    )


def _neighbours(page: PlantNamePage, text: str) -> dict[str, str | None]:
    """Return the addresses of the pages before and after."""
    find = text or None
    first = page.lines[0].plain if page.lines else None
    last = page.lines[-1].plain if page.lines else None
    return {
        "earlier": url_for("plant_names.show_all", find=find, before=first)
        if page.earlier and first
        else None,
        "later": url_for("plant_names.show_all", find=find, after=last)
        if page.later and last
        else None,
    }


def _typed(known: KnownPlantName) -> dict[str, object]:
    return {
        "plant": known.plain,
        # What is in the log was confirmed once and is not asked about again.
        "as_typed": known.plain,
        "trade_designation": known.trade_designation,
        "common_name": known.common_name,
        "family": known.family,
        "rights_grant": known.rights_grant,
        "rights_licence": known.rights_licence,
        "rights_until": typed_day(known.rights_until),
        "notes": known.notes,
        "version": known.version,
    }
