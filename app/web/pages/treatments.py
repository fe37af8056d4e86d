"""Pages of treatments and hygiene: the list, one, a new one, withdrawing one."""

from datetime import datetime
from typing import Any, Final
from zoneinfo import ZoneInfo

from flask import Blueprint, Response, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.permissions import Permission
from app.domain.treatments import TreatmentKind, is_running, time_words, treatment_cautions
from app.services.treatments import record_treatment, withdraw_treatment
from app.store.queries.batch_choices import list_batch_choices
from app.store.queries.batches import find_batch_id
from app.store.queries.history import list_history
from app.store.queries.stock_plants import find_stock_plant_id
from app.store.queries.treatments import (
    KnownTreatment,
    get_reached,
    get_treatment,
    list_running,
    list_treatments,
)
from app.web.batch_filling import typed_day
from app.web.forms.treatments import Finders, TreatmentForm, WithdrawForm
from app.web.permissions import allow
from app.web.reentries import reentry_warnings
from app.web.requests import actor, db, now, nursery, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("treatments", __name__, url_prefix="/treatments")

PAGE: Final = 50
UNDONE: Final = "taken back right after it was entered"


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List treatments and hygiene, the last entered first."""
    asked = request.args.get("kind", "")
    kind = asked if asked in set(TreatmentKind) else ""
    before = request.args.get("before", type=int)
    found = list_treatments(db(), kind=kind, before=before, limit=PAGE)
    more = found[PAGE - 1].number if len(found) > PAGE else None
    return render_template(
        "treatments/list.html",
        treatments=found[:PAGE],
        kinds=list(TreatmentKind),
        kind=kind,
        first_page=before is None,
        older=url_for("treatments.show_all", kind=kind, before=more) if more else None,
        newest=url_for("treatments.show_all", kind=kind) if before else None,
        warnings=reentry_warnings(list_running(db(), now=now())),
        cautions=treatment_cautions(None),
        today=today(),
    )


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.CHECK)
def create() -> ResponseReturnValue:
    """Write a treatment down, also like another one."""
    form = TreatmentForm(data=_starting())
    choices = list_batch_choices(db())
    form.offer(benches=choices.benches, people=choices.people)

    def record(session: Session) -> Saved:
        found = Finders(
            batch=lambda code: find_batch_id(session, code=code),
            stock_plant=lambda code: find_stock_plant_id(session, code=code),
        )
        entry = form.entry(found=found, today=today(), zone=nursery().zone)
        recorded = record_treatment(
            session, actor=actor(), now=now(), zone=nursery().zone, entry=entry
        )
        return Saved(
            location=url_for("treatments.show", code=recorded.code),
            message=f"{recorded.code} is saved: {' '.join(entry.what.split())}.",
            undo=url_for("treatments.undo", code=recorded.code),
            next=url_for("treatments.create", like=recorded.code),
            next_words="Another like it",
        )

    answer = submit(form, record)
    return answer or (
        render_template("treatments/new.html", form=form, cautions=treatment_cautions(None)),
        status_of(form),
    )


@blueprint.route("/<code>")
@allow(Permission.READ)
def show(code: str) -> ResponseReturnValue:
    """Show a treatment and what it reached."""
    known = get_treatment(db(), code=code)
    zone = nursery().zone
    running = known.withdrawn_at is None and is_running(known.reentry_at, now=now())
    return render_template(
        "treatments/show.html",
        known=known,
        begun=time_words(known.begun_at, zone=zone),
        reentry=time_words(known.reentry_at, zone=zone) if known.reentry_at else "",
        warnings=reentry_warnings([known]) if running else (),
        reached=get_reached(db(), treatment=known),
        cautions=treatment_cautions(TreatmentKind(known.kind)),
        history=list_history(db(), subject=f"treatment {known.code}", zone=zone),
        today=today(),
    )


@blueprint.route("/<code>/withdraw", methods=["GET", "POST"])
@allow(Permission.CORRECT_OWN)
def withdraw(code: str) -> ResponseReturnValue:
    """Withdraw a wrong treatment, with a reason."""
    known = get_treatment(db(), code=code)
    form = WithdrawForm()
    answer = submit(form, lambda session: _withdraw(session, known, form.reason.data or ""))
    return answer or (
        render_template("treatments/withdraw.html", form=form, known=known),
        status_of(form),
    )


@blueprint.route("/<code>/undo", methods=["POST"])
@allow(Permission.CORRECT_OWN)
def undo(code: str) -> Response:
    """Take back a treatment that was just entered."""
    known = get_treatment(db(), code=code)
    return press(lambda session: _withdraw(session, known, UNDONE))


def _withdraw(session: Session, known: KnownTreatment, reason: str) -> Saved:
    withdraw_treatment(
        session,
        actor=actor(),
        today=today(),
        now=now(),
        treatment_id=known.id,
        reason=reason,
    )
    return Saved(
        location=url_for("treatments.show", code=known.code),
        message=f"{known.code} is withdrawn: it stays readable and reaches nothing.",
        next=url_for("treatments.create", like=known.code),
        next_words="Enter it again, put right",
    )


def _starting() -> dict[str, Any]:
    """Return what a new treatment is filled with: the person, the present time, or another one."""
    local = now().astimezone(ZoneInfo(nursery().zone))
    texts: dict[str, Any] = {
        "by": str(actor().person_id),
        "begun_on": typed_day(local.date()),
        "begun_time": f"{local:%H:%M}",
        "benches": request.args.getlist("bench"),
        "batches": request.args.get("batch", ""),
    }
    like = request.args.get("like", "")
    return texts | _texts_of(get_treatment(db(), code=like)) if like else texts


def _texts_of(known: KnownTreatment) -> dict[str, Any]:
    reached = get_reached(db(), treatment=known)
    begun = _local(known.begun_at)
    texts: dict[str, Any] = {
        name: getattr(known, name) for name in ("kind", "what", "rate", "target", "way", "notes")
    }
    texts |= {
        "benches": [str(bench_id) for bench_id in known.bench_ids],
        "batches": ", ".join(one.code for one in reached.batches if one.chosen),
        "stock_plants": ", ".join(one.code for one in reached.stock_plants if one.chosen),
    }
    if known.withdrawn_at is not None:
        # Entered again to be put right: its own times, not those of now.
        texts |= {"begun_on": typed_day(begun.date()), "begun_time": f"{begun:%H:%M}"}
        if known.reentry_at is not None:
            until = _local(known.reentry_at)
            texts |= {"reentry_on": typed_day(until.date()), "reentry_time": f"{until:%H:%M}"}
    return texts


def _local(at: datetime) -> datetime:
    return at.astimezone(ZoneInfo(nursery().zone))
