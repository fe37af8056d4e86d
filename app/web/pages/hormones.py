"""Pages of the hormones: the list, and one more treatment."""

from flask import Blueprint, render_template, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.permissions import Permission
from app.services.hormones import add_hormone
from app.store.queries.hormones import list_hormones
from app.web.forms.hormones import HormoneForm
from app.web.permissions import allow
from app.web.requests import actor, db, now, status_of, submit
from app.web.results import Saved

blueprint = Blueprint("hormones", __name__, url_prefix="/hormones")


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List every treatment this nursery knows."""
    return render_template("hormones/list.html", hormones=list_hormones(db()))


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def create() -> ResponseReturnValue:
    """Add a treatment."""
    form = HormoneForm()

    def add(session: Session) -> Saved:
        hormone = add_hormone(session, actor=actor(), now=now(), text=form.hormone.data or "")
        return Saved(
            location=url_for("hormones.show_all"),
            message=f"{hormone.label} is in the list.",
            next=url_for("hormones.create"),
            next_words="Another hormone",
        )

    answer = submit(form, add)
    return answer or (render_template("hormones/new.html", form=form), status_of(form))
