"""Pages of practical sessions: the list, one of them, planning, correcting, putting off."""

from dataclasses import replace
from typing import Any, Final

from flask import Blueprint, Response, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.method_card_words import card_lines
from app.domain.permissions import Permission
from app.domain.practical_steps import steps_of_card
from app.services.practicals import (
    cancel_practical,
    correct_practical,
    plan_practical,
    put_off_practical,
    reinstate_practical,
)
from app.store.queries.batch_links import find_card_version_id
from app.store.queries.batch_lists import list_recent_plants
from app.store.queries.history import list_history
from app.store.queries.method_cards import get_card
from app.store.queries.practical_batches import list_practical_choices
from app.store.queries.practicals import KnownPractical, get_practical, list_practicals
from app.web.batch_filling import typed_day
from app.web.forms.practicals import CancelForm, PracticalForm, PutOffForm
from app.web.permissions import allow
from app.web.practical_showing import (
    cautions_shown,
    heads_asked,
    materials_shown,
    preparing_address,
)
from app.web.requests import actor, db, now, nursery, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("practicals", __name__, url_prefix="/practicals")

PAGE: Final = 50
RECENT_PLANTS: Final = 12
_NUMBERS: Final = ("heads", "per_head", "per_place")
_LINES: Final = ("steps", "tools", "cautions")


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List practical sessions, the latest day first."""
    past = max(request.args.get("past", 0, type=int), 0)
    found = list_practicals(db(), before=past, limit=PAGE)
    older = url_for("practicals.show_all", past=past + PAGE) if len(found) > PAGE else None
    newer = url_for("practicals.show_all", past=max(past - PAGE, 0)) if past else None
    return render_template(
        "practicals/list.html",
        practicals=found[:PAGE],
        first=past + 1,
        older=older,
        newer=newer,
        today=today(),
    )


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.TEACH)
def create() -> ResponseReturnValue:
    """Plan a practical session: a new one, one like another, or one from a method card."""
    like = request.args.get("like", "").strip()
    kept = get_practical(db(), code=like) if like else None
    form = PracticalForm(data=_starting(kept))
    form.offer(list_practical_choices(db(), kept=kept))

    def plan(session: Session) -> Saved:
        version_id = find_card_version_id(session, typed=form.card_version.data or "")
        entry = form.entry(session, card_version_id=version_id, today=today())
        planned = plan_practical(session, actor=actor(), today=today(), now=now(), entry=entry)
        return Saved(
            location=url_for("practicals.show", code=planned.code),
            message=f"{planned.code} is saved: {' '.join(entry.topic.split())}.",
            next=url_for("practicals.create", like=planned.code),
            next_words="Another like it",
        )

    return submit(form, plan) or _edit_page(form, known=None)


@blueprint.route("/<code>")
@allow(Permission.READ)
def show(code: str) -> ResponseReturnValue:
    """Show a practical session: steps, what to have ready, cautions, and who has read them."""
    known = get_practical(db(), code=code)
    heads = heads_asked(known, typed=request.args.get("heads", ""))
    return render_template(
        "practicals/show.html",
        known=known,
        entry=known.entry,
        state=known.state(today()),
        heads=heads,
        materials=materials_shown(known, heads=heads),
        preparing=preparing_address(known, heads=heads) if known.entry.per_head and heads else "",
        cautions=cautions_shown(known),
        takes_part=known.takes_part(actor().person_id),
        history=list_history(db(), subject=f"practical session {known.code}", zone=nursery().zone),
        today=today(),
    )


@blueprint.route("/<code>/edit", methods=["GET", "POST"])
@allow(Permission.TEACH)
def edit(code: str) -> ResponseReturnValue:
    """Correct a practical session."""
    known = get_practical(db(), code=code)
    form = PracticalForm(data=_texts(known) | {"version": known.version})
    form.offer(list_practical_choices(db(), kept=known))

    def correct(session: Session) -> Saved:
        correct_practical(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            code=known.code,
            version=form.version.data,
            entry=form.entry(session, card_version_id=None, today=today()),
        )
        return _saved(known, f"{known.code} is saved.")

    return submit(form, correct) or _edit_page(form, known=known)


@blueprint.route("/<code>/put-off", methods=["GET", "POST"])
@allow(Permission.TEACH)
def put_off(code: str) -> ResponseReturnValue:
    """Put a practical session off to another day, with the reason."""
    known = get_practical(db(), code=code)
    form = PutOffForm()

    def save(session: Session) -> Saved:
        to = form.day(today=today())
        put_off_practical(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            code=known.code,
            to=to,
            reason=form.reason.data or "",
        )
        return _saved(known, f"{known.code} is put off to {typed_day(to)}.")

    answer = submit(form, save)
    if answer:
        return answer
    page = render_template("practicals/put_off.html", form=form, known=known, today=today())
    return page, status_of(form)


@blueprint.route("/<code>/cancel", methods=["GET", "POST"])
@allow(Permission.TEACH)
def cancel(code: str) -> ResponseReturnValue:
    """Cancel a practical session, with the reason."""
    known = get_practical(db(), code=code)
    form = CancelForm()

    def save(session: Session) -> Saved:
        reason = form.reason.data or ""
        cancel_practical(session, actor=actor(), now=now(), code=known.code, reason=reason)
        here = url_for("practicals.show", code=known.code)
        back = url_for("practicals.reinstate", code=known.code)
        return Saved(location=here, message=f"{known.code} is cancelled.", undo=back)

    answer = submit(form, save)
    if answer:
        return answer
    page = render_template("practicals/cancel.html", form=form, known=known, today=today())
    return page, status_of(form)


@blueprint.route("/<code>/reinstate", methods=["POST"])
@allow(Permission.TEACH)
def reinstate(code: str) -> Response:
    """Let a cancelled practical session take place after all."""
    known = get_practical(db(), code=code)

    def save(session: Session) -> Saved:
        reinstate_practical(session, actor=actor(), now=now(), code=known.code)
        return _saved(known, f"{known.code} takes place after all.")

    return press(save)


def _saved(known: KnownPractical, message: str) -> Saved:
    return Saved(location=url_for("practicals.show", code=known.code), message=message)


def _edit_page(form: PracticalForm, *, known: KnownPractical | None) -> ResponseReturnValue:
    page = render_template(
        "practicals/edit.html",
        form=form,
        known=known,
        hormones=list_practical_choices(db()).hormones,
        recent_plants=list_recent_plants(db(), limit=RECENT_PLANTS),
    )
    return page, status_of(form)


def _starting(like: KnownPractical | None) -> dict[str, Any]:
    """Return what a new session is filled with: another one's, a method card's, or the day."""
    card_id = request.args.get("card", type=int)
    if like is not None:
        again = replace(like, entry=replace(like.entry, held_on=today()))
        return _texts(again) | {"held_on": ""}
    texts: dict[str, Any] = {"taught_by": str(actor().person_id)}
    return texts if card_id is None else texts | _of_card(card_id)


def _of_card(card_id: int) -> dict[str, Any]:
    card = get_card(db(), card_id=card_id)
    lines = card_lines(
        card.values,
        cutting_type=card.cutting_type,
        standings=card.standings,
        hemisphere=nursery().hemisphere,
    )
    start = card.starting_values
    return {
        "topic": f"{card.cutting_type.value.capitalize()} cuttings of {card.plant}",
        "plant": card.plant,
        "cutting_type": card.cutting_type.value,
        "hormone": start.hormone.label if start.hormone else "",
        "steps": "\n".join(steps_of_card(lines, steps=card.values.steps)),
        "card_version": str(card.version_id),
    }


def _texts(known: KnownPractical) -> dict[str, Any]:
    entry = known.entry
    return {
        "held_on": typed_day(entry.held_on),
        "topic": entry.topic,
        "taught_by": _id(entry.taught_by_id),
        "people": [str(person_id) for person_id in entry.people_ids],
        "plant": known.plant,
        "cutting_type": entry.cutting_type.value if entry.cutting_type else "",
        "hormone": entry.hormone.label if entry.hormone else "",
        "container": _id(entry.container_id),
        "mix": _id(entry.mix_id),
        "bench": _id(entry.bench_id),
        "notes": entry.notes,
        "card_version": _id(entry.method_card_version_id),
        **{name: _id(getattr(entry, name)) for name in _NUMBERS},
        **{name: "\n".join(getattr(entry, name)) for name in _LINES},
    }


def _id(value: int | None) -> str:
    return "" if value is None else str(value)
