"""Labels printed ahead: reserving numbers, putting one on a batch that is there, taking it off."""

from flask import Blueprint, render_template, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.labels import MOST_LABELS
from app.domain.permissions import Permission
from app.domain.problems import NotAccepted, NotFound
from app.services.label_numbers import put_label_on, reserve_label_numbers, take_label_off
from app.store.queries.batches import get_batch
from app.store.queries.label_numbers import KnownNumber, find_label_number, list_runs
from app.web.batch_access import refuse_foreign
from app.web.form_reading import Reading
from app.web.forms.label_numbers import PutOnForm, ReserveForm
from app.web.permissions import allow
from app.web.requests import actor, db, now, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("label_numbers", __name__, url_prefix="/label-numbers")


@blueprint.route("", methods=["GET", "POST"])
@allow(Permission.STICK)
def reserve() -> ResponseReturnValue:
    """Reserve numbers for labels printed ahead, and list what was reserved."""
    form = ReserveForm()
    answer = submit(form, lambda session: _reserve(session, form))
    return answer or (
        render_template("label_numbers/list.html", form=form, runs=list_runs(db()), today=today()),
        status_of(form),
    )


@blueprint.route("/<code>", methods=["GET", "POST"])
@allow(Permission.STICK)
def put_on(code: str) -> ResponseReturnValue:
    """Say which batch a label is on that was stuck already."""
    known = _known(code)
    form = PutOnForm()

    def save(session: Session) -> Saved:
        code = _typed(form)
        put_label_on(session, actor=actor(), now=now(), typed=known.code, batch_code=code)
        batch = get_batch(session, code=code)
        here = url_for("batches.show", code=batch.code)
        return Saved(
            location=here,
            message=f"{known.code} is on {batch.code}, {batch.plant}.",
            undo=url_for("label_numbers.take_off", code=known.code, batch_code=batch.code),
        )

    answer = submit(form, save)
    return answer or (
        render_template("label_numbers/show.html", form=form, known=known),
        status_of(form),
    )


@blueprint.route("/<code>/off/<batch_code>", methods=["POST"])
@allow(Permission.CORRECT_OWN)
def take_off(code: str, batch_code: str) -> ResponseReturnValue:
    """Take a label off a batch, so that it is free again."""
    batch = get_batch(db(), code=batch_code)
    refuse_foreign(batch)

    def save(session: Session) -> Saved:
        known = take_label_off(session, actor=actor(), now=now(), typed=code, batch_code=batch.code)
        return Saved(
            location=url_for("batches.show", code=batch.code),
            message=f"{known.code} is off {batch.code} and free again.",
        )

    return press(save)


def _reserve(session: Session, form: ReserveForm) -> Saved:
    reading = Reading()
    number = reading.whole(form.number.data, field="number", low=1, high=MOST_LABELS)
    if reading.failed:
        raise reading.refusal()
    first, last = reserve_label_numbers(session, actor=actor(), now=now(), number=number or 0)
    codes = first if first == last else f"{first} to {last}"
    return Saved(
        location=url_for("labels.choose", kind="numbers", codes=codes),
        message=f"{codes}: reserved. Print them now, or later from the list of what was reserved.",
        link=url_for("label_numbers.reserve"),
    )


def _typed(form: PutOnForm) -> str:
    code = (form.batch.data or "").strip()
    if not code:
        raise NotAccepted.at("batch", "Give the code of the batch.")
    return code


def _known(code: str) -> KnownNumber:
    known = find_label_number(db(), text=code)
    if known is None:
        raise NotFound(f"{code} is no label printed ahead for this log. Look at the label again.")
    return known
