"""Pages of the containers: the list, a new one, a correction."""

from flask import Blueprint, render_template, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.permissions import Permission
from app.services.containers import add_container, correct_container
from app.store.queries.containers import KnownContainer, get_container, list_containers
from app.web.forms.containers import ContainerForm
from app.web.permissions import allow
from app.web.requests import actor, db, now, status_of, submit
from app.web.results import Saved

blueprint = Blueprint("containers", __name__, url_prefix="/containers")


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List every container, the ones no longer in use last."""
    containers = sorted(list_containers(db(), retired=True), key=lambda known: known.retired)
    return render_template("containers/list.html", containers=containers)


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def create() -> ResponseReturnValue:
    """Add a container."""
    form = ContainerForm()

    def add(session: Session) -> Saved:
        add_container(session, actor=actor(), now=now(), entry=form.entry())
        return _saved(form)

    answer = submit(form, add)
    return answer or (
        render_template("containers/edit.html", form=form, container=None),
        status_of(form),
    )


@blueprint.route("/<int:container_id>/edit", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def edit(container_id: int) -> ResponseReturnValue:
    """Correct a container or retire it."""
    known = get_container(db(), container_id=container_id)
    form = ContainerForm(data=_typed(known))

    def correct(session: Session) -> Saved:
        correct_container(
            session,
            actor=actor(),
            now=now(),
            container_id=container_id,
            version=form.version.data,
            entry=form.entry(),
            retired=form.retired.data,
        )
        return _saved(form)

    answer = submit(form, correct)
    return answer or (
        render_template("containers/edit.html", form=form, container=known),
        status_of(form),
    )


def _saved(form: ContainerForm) -> Saved:
    return Saved(
        location=url_for("containers.show_all"),
        message=f"{form.name.data} is saved.",
        next=url_for("containers.create"),
        next_words="Another container",
    )


def _typed(known: KnownContainer) -> dict[str, object]:
    return {
        "name": known.name,
        "kind": known.kind.value,
        "plugs": "" if known.plugs is None else str(known.plugs),
        "volume_ml": "" if known.volume_ml is None else f"{known.volume_ml:g}",
        "retired": known.retired,
        "version": known.version,
    }
