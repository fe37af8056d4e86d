"""Pages of what happens to a stock plant: writing it down by its kind, withdrawing an entry."""

from typing import Final

from flask import Blueprint, Response, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.permissions import Permission
from app.domain.problems import NotFound
from app.domain.stock_plant_events import AHEAD, EventKind
from app.services.stock_plant_events import record_event, withdraw_event
from app.store.queries.batch_choices import list_batch_choices
from app.store.queries.stock_plant_events import KnownEvent, get_event, list_events
from app.store.queries.stock_plants import KnownStockPlant, get_stock_plant
from app.web.batch_filling import typed_day
from app.web.forms.stock_plant_events import EVENT_WORDS, EventForm, WithdrawEventForm
from app.web.permissions import allow
from app.web.requests import actor, db, now, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("stock_plant_events", __name__, url_prefix="/stock-plants/<code>/events")

UNDONE: Final = "taken back right after it was entered"
_BY_SLUG: Final = {kind.slug: kind for kind in EventKind}


@blueprint.route("/new/<kind>", methods=["GET", "POST"])
@allow(Permission.CHECK)
def create(code: str, kind: str) -> ResponseReturnValue:
    """Write down what happened to a stock plant."""
    if kind not in _BY_SLUG:
        raise NotFound("Nothing of that kind is written down. Choose it on the plant's page.")
    chosen, known = _BY_SLUG[kind], get_stock_plant(db(), code=code)
    form = EventForm(
        data={"by": str(actor().person_id), "happened_on": "today", **_begun(known, chosen)}
    )
    form.keep_for(chosen, people=list_batch_choices(db()).people)

    def record(session: Session) -> Saved:
        entry = form.entry(chosen, today=today())
        event_id = record_event(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            stock_plant_id=known.id,
            entry=entry,
        )
        return Saved(
            location=url_for("stock_plants.show", code=known.code),
            message=f"{known.code}: {EVENT_WORDS[chosen].done} is saved.",
            undo=url_for("stock_plant_events.undo", code=known.code, event_id=event_id),
        )

    answer = submit(form, record)
    return answer or (
        render_template(
            "stock_plant_events/new.html", form=form, known=known, words=EVENT_WORDS[chosen]
        ),
        status_of(form),
    )


@blueprint.route("/<int:event_id>/withdraw", methods=["GET", "POST"])
@allow(Permission.CORRECT_OWN)
def withdraw(code: str, event_id: int) -> ResponseReturnValue:
    """Withdraw a wrong entry, with a reason."""
    known = get_stock_plant(db(), code=code)
    event = get_event(db(), stock_plant_id=known.id, event_id=event_id)
    form = WithdrawEventForm()
    answer = submit(form, lambda session: _withdraw(session, known, event, form.reason.data or ""))
    return answer or (
        render_template(
            "stock_plant_events/withdraw.html",
            form=form,
            known=known,
            shown=event,
            words=EVENT_WORDS,
            today=today(),
        ),
        status_of(form),
    )


@blueprint.route("/<int:event_id>/undo", methods=["POST"])
@allow(Permission.CORRECT_OWN)
def undo(code: str, event_id: int) -> Response:
    """Take back an entry that was just made."""
    known = get_stock_plant(db(), code=code)
    event = get_event(db(), stock_plant_id=known.id, event_id=event_id)
    return press(lambda session: _withdraw(session, known, event, UNDONE))


def _withdraw(session: Session, known: KnownStockPlant, event: KnownEvent, reason: str) -> Saved:
    withdraw_event(
        session, actor=actor(), today=today(), now=now(), event_id=event.event.id, reason=reason
    )
    return Saved(
        location=url_for("stock_plants.show", code=known.code),
        message=f"The entry of {known.code} is withdrawn: it stays readable.",
        next=url_for("stock_plant_events.create", code=known.code, kind=event.event.kind.slug),
        next_words="Enter it again, put right",
    )


def _begun(known: KnownStockPlant, kind: EventKind) -> dict[str, str]:
    """Return what a form begins with: what was tested for before, as long until the next look."""
    if request.method == "POST" or kind not in AHEAD:
        return {}
    for before in list_events(db(), stock_plant_id=known.id):
        event = before.event
        if event.kind is kind and before.withdrawn_at is None and event.until_on is not None:
            until_on = today() + (event.until_on - event.happened_on)
            return {"until_on": typed_day(until_on), "about": event.about}
    return {}
