"""The page that answers how many to stick, without an order."""

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.hormones import parse_hormone
from app.domain.orders import USUAL_BATCHES, USUAL_SURE, USUAL_WINDOW_WEEKS
from app.domain.permissions import Permission
from app.domain.problems import NotAccepted
from app.services.orders import NamedPlant, find_wanted_plant
from app.store.queries.hormones import find_hormone_id, list_hormones
from app.web.form_reading import Reading
from app.web.forms.order_questions import PlanQuestionForm, WhatIf, WhatIfForm
from app.web.learning import learned_books
from app.web.permissions import allow
from app.web.requests import db, end_reading, today

if TYPE_CHECKING:
    from app.domain.order_plans import PlanAsked, PlanSubject
    from app.store.queries.order_plans import PlanBooks
    from app.web.order_answers import ShownAnswer

blueprint = Blueprint("order_questions", __name__, url_prefix="/plan")

_USUAL: Final = {"sure": f"{USUAL_SURE * 100:g}", "batches": str(USUAL_BATCHES)}
_NEVER_USED: Final = -1


@blueprint.route("/how-many")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """Answer how many to stick of a plant for so many by a day; nothing is stored."""
    form = PlanQuestionForm(request.args, usual=_USUAL)
    asked = any(request.args.get(name) for name in ("plant", "plants", "due_on"))
    answer: ShownAnswer | None = None
    plant, status = "", 200
    if asked:
        try:
            plant, answer = _answered(form)
        except NotAccepted as refusal:
            form.refuse(refusal)
            status = 422
    hormones = [known.label for known in list_hormones(db())]
    end_reading()
    page = render_template(
        "order_questions/show.html",
        form=form,
        answer=answer,
        plant=plant,
        hormones=hormones,
        today=today(),
    )
    return page, status


def _answered(form: PlanQuestionForm) -> "tuple[str, ShownAnswer]":
    reading = Reading()
    named = reading.of(lambda: find_wanted_plant(db(), typed=form.plant.data or ""))
    plants, due_on = form.read_wanted(reading, today=today())
    tried = form.read_what_if(reading, today=today(), due_on=due_on)
    hormone_id = reading.of(lambda: hormone_asked(db(), form))
    if named is None or plants is None or due_on is None or reading.failed:
        raise reading.refusal()
    # All of this loads numpy, which a page without sums must not pay for.
    from app.domain.order_plans import PlanAsked  # noqa: PLC0415 - as said

    subject = replace(subject_of(named), cutting_type=tried.cutting_type, hormone_id=hormone_id)
    asked = PlanAsked(
        plants=plants, due_on=due_on, sure_share=tried.sure_share, batches=tried.batches
    )
    return named.plant, answer_tried(
        subject, asked, books=learned_books(), tried=tried, window_weeks=USUAL_WINDOW_WEEKS
    )


def answer_tried(
    subject: "PlanSubject",
    asked: "PlanAsked",
    *,
    books: "PlanBooks",
    tried: WhatIf,
    window_weeks: int,
) -> "ShownAnswer":
    """Return the answer with what is to be tried put in the place of what was entered."""
    from app.web.order_answers import answer_for  # noqa: PLC0415 - loads numpy

    turned = replace(
        asked, sure_share=tried.sure_share, batches=tried.batches, stick_on=tried.stick_on
    )
    return answer_for(
        db(),
        books=books,
        subject=subject,
        asked=turned,
        window_weeks=window_weeks,
        today=today(),
    )


def subject_of(named: NamedPlant) -> "PlanSubject":
    """Return the subject of a plan for what was typed."""
    from app.domain.order_plans import PlanSubject  # noqa: PLC0415 - loads numpy

    return PlanSubject(
        genus_id=named.genus_id,
        genus=named.genus,
        species=named.species,
        plant_name_id=named.plant_name_id,
    )


def hormone_asked(session: Session, form: WhatIfForm) -> int | None:
    """Return the id of the hormone typed, None for a blank; one never used has no batches.

    Raises:
        NotAccepted: at "hormone", it cannot be read.
    """
    hormone = parse_hormone(form.hormone.data or "")
    if hormone is None:
        return None
    found = find_hormone_id(session, hormone=hormone)
    return _NEVER_USED if found is None else found
