"""Pages of the genera: the list, and a genus's family."""

from flask import Blueprint, render_template, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.genus_cautions import caution_words
from app.domain.permissions import Permission
from app.services.genera import correct_genus
from app.store.queries.genera import get_genus, list_genera
from app.web.forms.genera import GenusForm
from app.web.permissions import allow
from app.web.requests import actor, db, now, status_of, submit
from app.web.results import Saved

blueprint = Blueprint("genera", __name__, url_prefix="/genera")


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List every genus with its family and caution."""
    rows = [
        (
            genus,
            caution_words(
                genus.caution, applies_to=genus.caution_applies_to, basis=genus.caution_basis
            ),
        )
        for genus in list_genera(db())
    ]
    return render_template("genera/list.html", rows=rows)


@blueprint.route("/<name>/edit", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def edit(name: str) -> ResponseReturnValue:
    """Correct the family of a genus."""
    genus = get_genus(db(), name=name)
    form = GenusForm(data={"family": genus.family, "version": genus.version})

    def save(session: Session) -> Saved:
        correct_genus(
            session,
            actor=actor(),
            now=now(),
            name=name,
            version=form.version.data,
            family=form.family.data or "",
        )
        return Saved(location=url_for("genera.show_all"), message=f"{name} is saved.")

    answer = submit(form, save)
    return answer or (
        render_template("genera/edit.html", form=form, genus=genus),
        status_of(form),
    )
