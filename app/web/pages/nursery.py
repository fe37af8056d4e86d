"""The page of the nursery's own record."""

from flask import Blueprint, render_template, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.permissions import Permission
from app.services.nursery import correct_nursery
from app.store.queries.nursery import get_nursery
from app.web.forms.first_start import zone_names
from app.web.forms.nursery import NurseryForm
from app.web.permissions import allow
from app.web.requests import actor, db, now, status_of, submit
from app.web.results import Saved

blueprint = Blueprint("nursery", __name__, url_prefix="/nursery")


@blueprint.route("", methods=["GET", "POST"])
@allow(Permission.KEEP_PEOPLE)
def edit() -> ResponseReturnValue:
    """Change the nursery's name, zone, half of the globe or wording."""
    nursery = get_nursery(db())
    form = NurseryForm(
        data={
            "name": nursery.name,
            "zone": nursery.zone,
            "hemisphere": nursery.hemisphere.value,
            "medium_word": nursery.medium_word,
            "raw_powder": nursery.raw_powder,
            "version": nursery.version,
        }
    )

    def correct(session: Session) -> Saved:
        correct_nursery(
            session, actor=actor(), now=now(), version=form.version.data, entry=form.entry()
        )
        return Saved(location=url_for("nursery.edit"), message="The nursery's record is saved.")

    answer = submit(form, correct)
    return answer or (
        render_template("nursery/edit.html", form=form, zones=zone_names()),
        status_of(form),
    )
