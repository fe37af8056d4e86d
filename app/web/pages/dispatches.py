"""Pages of dispatches: the list, one, sending out, putting right, withdrawing."""

from typing import Any, Final

from flask import Blueprint, Response, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.permissions import Permission
from app.services.dispatches import correct_dispatch, send_out, withdraw_dispatch
from app.store.queries.dispatches import (
    KnownDispatch,
    get_dispatch,
    list_dispatch_lines,
    list_dispatches,
)
from app.store.queries.history import list_history
from app.web.forms.dispatches import DispatchForm, RecipientForm, WithdrawDispatchForm
from app.web.permissions import allow
from app.web.requests import actor, db, now, nursery, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("dispatches", __name__, url_prefix="/dispatches")

PAGE: Final = 50
UNDONE: Final = "taken back right after it was entered"


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List dispatches, the newest first, by words of the name or reference."""
    text = " ".join(request.args.get("find", "").split())
    before = request.args.get("before", type=int)
    found = list_dispatches(db(), text=text, before=before, limit=PAGE + 1)
    more = found[PAGE - 1].number if len(found) > PAGE else None
    return render_template(
        "dispatches/list.html",
        dispatches=found[:PAGE],
        text=text,
        older=url_for("dispatches.show_all", find=text, before=more) if more else None,
        newest=url_for("dispatches.show_all", find=text) if before else None,
        today=today(),
    )


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.CHECK)
def create() -> ResponseReturnValue:
    """Send plants out."""
    form = DispatchForm(data=_starting())

    def send(session: Session) -> Saved:
        sent = send_out(
            session, actor=actor(), today=today(), now=now(), entry=form.entry(today=today())
        )
        return Saved(
            location=url_for("dispatches.show", code=sent.code),
            message=f"{sent.code} is saved: its plants have left their lots.",
            undo=url_for("dispatches.undo", code=sent.code),
            next=url_for("dispatches.create"),
            next_words="Send out more",
        )

    answer = submit(form, send)
    return answer or (render_template("dispatches/new.html", form=form), status_of(form))


@blueprint.route("/<code>")
@allow(Permission.READ)
def show(code: str) -> ResponseReturnValue:
    """Show a dispatch and what was in it."""
    known = get_dispatch(db(), code=code)
    return render_template(
        "dispatches/show.html",
        known=known,
        lines=list_dispatch_lines(db(), dispatch_id=known.id),
        history=list_history(db(), subject=f"dispatch {known.code}", zone=nursery().zone),
        today=today(),
    )


@blueprint.route("/<code>/edit", methods=["GET", "POST"])
@allow(Permission.CORRECT_ANY)
def edit(code: str) -> ResponseReturnValue:
    """Put right to whom it was sent, the reference and the note."""
    known = get_dispatch(db(), code=code)
    form = RecipientForm(
        data={
            "to_name": known.to_name,
            "reference": known.reference,
            "notes": known.notes,
            "version": known.version,
        }
    )

    def save(session: Session) -> Saved:
        correct_dispatch(
            session,
            actor=actor(),
            now=now(),
            dispatch_id=known.id,
            version=form.version.data,
            to_name=form.to_name.data or "",
            reference=form.reference.data or "",
            notes=form.notes.data or "",
        )
        return Saved(
            location=url_for("dispatches.show", code=known.code), message=f"{known.code} is saved."
        )

    answer = submit(form, save)
    return answer or (
        render_template("dispatches/edit.html", form=form, known=known),
        status_of(form),
    )


@blueprint.route("/<code>/withdraw", methods=["GET", "POST"])
@allow(Permission.CORRECT_OWN)
def withdraw(code: str) -> ResponseReturnValue:
    """Withdraw a wrong dispatch, with a reason."""
    known = get_dispatch(db(), code=code)
    form = WithdrawDispatchForm()
    answer = submit(form, lambda session: _withdraw(session, known, form.reason.data or ""))
    return answer or (
        render_template("dispatches/withdraw.html", form=form, known=known),
        status_of(form),
    )


@blueprint.route("/<code>/undo", methods=["POST"])
@allow(Permission.CORRECT_OWN)
def undo(code: str) -> Response:
    """Take back a dispatch that was just entered."""
    known = get_dispatch(db(), code=code)
    return press(lambda session: _withdraw(session, known, UNDONE))


def _withdraw(session: Session, known: KnownDispatch, reason: str) -> Saved:
    withdraw_dispatch(
        session, actor=actor(), today=today(), now=now(), dispatch_id=known.id, reason=reason
    )
    return Saved(
        location=url_for("dispatches.show", code=known.code),
        message=f"{known.code} is withdrawn: its plants are in their lots again.",
    )


def _starting() -> dict[str, Any]:
    """Return what a new dispatch is filled with: today, and the lot or batch it was opened from."""
    code = request.args.get("of", "").strip()
    return {"sent_on": "today", "lines": f"{code} " if code else ""}
