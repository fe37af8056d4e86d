"""Pages on which the cautions of a practical session are read, or noted as read aloud."""

from flask import Blueprint, Response, render_template, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.permissions import Permission
from app.services.practical_readings import (
    acknowledge_cautions,
    note_read_aloud,
    withdraw_reading,
)
from app.store.queries.practicals import KnownPractical, get_practical
from app.web.forms.practicals import CautionsReadForm, ReadAloudForm
from app.web.permissions import allow
from app.web.practical_showing import cautions_shown
from app.web.requests import actor, db, now, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("practical_cautions", __name__, url_prefix="/practicals")


@blueprint.route("/<code>/cautions", methods=["GET", "POST"])
@allow(Permission.CHECK)
def read(code: str) -> ResponseReturnValue:
    """Show the cautions of a session, to be read and acknowledged for oneself."""
    known = get_practical(db(), code=code)
    form = CautionsReadForm()

    def acknowledge(session: Session) -> Saved:
        acknowledge_cautions(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            code=known.code,
            fingerprint=form.shown.data or "",
        )
        return Saved(location=_here(known), message="That you have read the cautions is saved.")

    answer = submit(form, acknowledge)
    return answer or (_page("practicals/cautions.html", form, known), status_of(form))


@blueprint.route("/<code>/read-aloud", methods=["GET", "POST"])
@allow(Permission.TEACH)
def read_aloud(code: str) -> ResponseReturnValue:
    """Note who heard the cautions of a session read aloud."""
    known = get_practical(db(), code=code)
    form = ReadAloudForm()
    form.offer(known.people)

    def note(session: Session) -> Saved:
        number = note_read_aloud(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            code=known.code,
            fingerprint=form.shown.data or "",
            people_ids=form.heard(),
        )
        heard = "1 person" if number == 1 else f"{number} people"
        return Saved(location=_here(known), message=f"Read aloud to {heard}: saved.")

    answer = submit(form, note)
    return answer or (_page("practicals/read_aloud.html", form, known), status_of(form))


@blueprint.route("/<code>/readings/<int:reading_id>/withdraw", methods=["POST"])
@allow(Permission.TEACH)
def withdraw(code: str, reading_id: int) -> Response:
    """Take back that somebody read the cautions."""
    known = get_practical(db(), code=code)

    def take_back(session: Session) -> Saved:
        withdraw_reading(session, actor=actor(), now=now(), code=known.code, reading_id=reading_id)
        return Saved(location=_here(known), message="Taken back: they have not read it.")

    return press(take_back)


def _here(known: KnownPractical) -> str:
    return url_for("practicals.show", code=known.code)


def _page(template: str, form: CautionsReadForm, known: KnownPractical) -> str:
    shown = cautions_shown(known)
    # What is on the page is what is acknowledged, also after the text has changed.
    form.shown.data = shown.text.fingerprint
    return render_template(
        template,
        form=form,
        known=known,
        cautions=shown,
        takes_part=known.takes_part(actor().person_id),
        today=today(),
    )
