"""Pages of the causes of loss: the list, a new one, a correction."""

from flask import Blueprint, render_template, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.permissions import Permission
from app.services.lost_causes import add_lost_cause, correct_lost_cause
from app.store.queries.lost_causes import get_lost_cause, list_lost_causes
from app.web.forms.lost_causes import LostCauseForm
from app.web.permissions import allow
from app.web.requests import actor, db, now, status_of, submit
from app.web.results import Saved

blueprint = Blueprint("lost_causes", __name__, url_prefix="/lost-causes")


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List every cause, the ones no longer in use last."""
    causes = sorted(list_lost_causes(db(), retired=True), key=lambda cause: cause.retired)
    return render_template("lost_causes/list.html", causes=causes)


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def create() -> ResponseReturnValue:
    """Add a cause."""
    form = LostCauseForm()

    def add(session: Session) -> Saved:
        add_lost_cause(
            session,
            actor=actor(),
            now=now(),
            name=form.name.data or "",
            spreads=bool(form.spreads.data),
        )
        return _saved(form)

    answer = submit(form, add)
    return answer or (
        render_template("lost_causes/edit.html", form=form, cause=None),
        status_of(form),
    )


@blueprint.route("/<int:cause_id>/edit", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def edit(cause_id: int) -> ResponseReturnValue:
    """Correct a cause or take it out of use."""
    cause = get_lost_cause(db(), cause_id=cause_id)
    form = LostCauseForm(obj=cause)

    def correct(session: Session) -> Saved:
        correct_lost_cause(
            session,
            actor=actor(),
            now=now(),
            cause_id=cause_id,
            version=form.version.data,
            name=form.name.data or "",
            spreads=bool(form.spreads.data),
            retired=bool(form.retired.data),
        )
        return _saved(form)

    answer = submit(form, correct)
    return answer or (
        render_template("lost_causes/edit.html", form=form, cause=cause),
        status_of(form),
    )


def _saved(form: LostCauseForm) -> Saved:
    return Saved(
        location=url_for("lost_causes.show_all"),
        message=f"{form.name.data} is saved.",
        next=url_for("lost_causes.create"),
        next_words="Another cause",
    )
