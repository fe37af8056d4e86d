"""Cuttings an hour: how fast gathering, making and sticking go, by cutting type."""

from datetime import date, timedelta
from typing import Final

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from app.domain.days import parse_day
from app.domain.permissions import Permission, allowed
from app.domain.problems import NotAccepted
from app.domain.work_speeds import FEW_BATCHES, Step, speed_lines
from app.store.queries.batch_choices import Choice, list_batch_choices
from app.store.queries.work_speeds import list_work_done
from app.web.permissions import allow
from app.web.requests import actor, db, today

blueprint = Blueprint("work_speeds", __name__, url_prefix="/cuttings-per-hour")

USUAL_DAYS: Final = 730


@blueprint.route("")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """Show cuttings an hour of everybody together, and of one person beside it."""
    typed = request.args.get("since", "").strip()
    since, wrong = _since(typed)
    people = _people()
    chosen = _chosen(people)
    own = list_work_done(db(), since=since, person_id=chosen.id) if chosen else ()
    return render_template(
        "work_speeds/show.html",
        lines=speed_lines(list_work_done(db(), since=since)),
        own_lines=speed_lines(own),
        steps=[step.value for step in Step],
        people=people,
        chosen=chosen,
        is_self=chosen is not None and chosen.id == actor().person_id,
        since=since,
        typed=typed,
        wrong=wrong,
        few=FEW_BATCHES,
        today=today(),
    ), 422 if wrong else 200


def _since(typed: str) -> tuple[date, str]:
    """Return the day asked for, or the usual one with why the day typed cannot be read."""
    usual = today() - timedelta(days=USUAL_DAYS)
    if not typed:
        return usual, ""
    try:
        return parse_day(typed, today=today(), field="since"), ""
    except NotAccepted as refusal:
        return usual, refusal.problems[0].sentence


def _people() -> tuple[Choice, ...]:
    """Return whom this person may ask about: a head or manager anybody, others themselves."""
    here = actor()
    if allowed(here.role, Permission.SEE_EVERYBODY):
        return list_batch_choices(db()).people
    return (Choice(id=here.person_id, name=here.name),)


def _chosen(people: tuple[Choice, ...]) -> Choice | None:
    wanted = request.args.get("person", actor().person_id, type=int)
    return next((person for person in people if person.id == wanted), None)
