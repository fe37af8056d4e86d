"""A person's record of what was practised, and the techniques the head signed off."""

from typing import TYPE_CHECKING

from flask import Blueprint, redirect, render_template, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.permissions import Permission, allowed
from app.domain.problems import NotFound
from app.domain.standouts_questions import StandoutBy, StandoutQuestion
from app.domain.standouts_words import CAUTION, difference_words
from app.domain.strike_rates import ASSUMED_CORRELATION
from app.domain.strike_rates_keys import NOT_RECORDED, RateKey
from app.domain.strike_rates_questions import USUAL_RESTUCK, RateQuestion
from app.domain.strike_rates_words import batches, estimate_words, percent
from app.services.sign_offs import sign_off, withdraw_sign_off
from app.store.queries.people import KnownPerson, get_person
from app.store.queries.training_records import get_sign_off, get_training_record
from app.web.forms.training_records import SignOffForm, WithdrawalForm
from app.web.learning import learned_answer, learned_fit
from app.web.permissions import allow
from app.web.requests import actor, db, now, nursery, status_of, submit, today
from app.web.results import Saved

if TYPE_CHECKING:
    from app.domain.standouts import Standout
    from app.domain.training_comparisons import PersonCompared

blueprint = Blueprint("training_records", __name__)


@blueprint.route("/my-record")
@allow(Permission.READ)
def own() -> ResponseReturnValue:
    """Lead to the record of whoever is signed in."""
    return redirect(url_for("training_records.show", key=actor().person_key), code=302)


@blueprint.route("/people/<key>/record")
@allow(Permission.READ)
def show(key: str) -> ResponseReturnValue:
    """Show what a person practised: the own record, or anybody's for whoever sees everybody."""
    person = _seen_person(key)
    rates = _rates(person.id)
    compared = _compared(person.id)
    line = compared.whole
    record = get_training_record(db(), person_id=person.id)
    return render_template(
        "training_records/show.html",
        person=person,
        record=record,
        rates=rates,
        compared=_compared_words(line),
        difference=difference_words(line) if line else "",
        by_type=compared.types,
        caution=CAUTION,
        nursery_name=nursery().name,
        own=person.id == actor().person_id,
        today=today(),
    )


@blueprint.route("/people/<key>/sign-offs/new", methods=["GET", "POST"])
@allow(Permission.SIGN_OFF)
def create(key: str) -> ResponseReturnValue:
    """Sign a technique off for somebody."""
    person = get_person(db(), key=key)
    form = SignOffForm(data={"signed_on": "today"})

    def sign(session: Session) -> Saved:
        entry = form.entry(today=today())
        sign_off(session, actor=actor(), today=today(), now=now(), key=key, entry=entry)
        return _saved(key, "It is signed off.")

    answer = submit(form, sign)
    page = answer or render_template(
        "training_records/sign_off.html",
        form=form,
        person=person,
        record=get_training_record(db(), person_id=person.id),
        today=today(),
    )
    return page, status_of(form)


@blueprint.route("/sign-offs/<int:sign_off_id>/withdraw", methods=["GET", "POST"])
@allow(Permission.SIGN_OFF)
def withdraw(sign_off_id: int) -> ResponseReturnValue:
    """Withdraw a sign-off with a reason; it stays on the record."""
    key, known = get_sign_off(db(), sign_off_id=sign_off_id)
    form = WithdrawalForm()

    def take_back(session: Session) -> Saved:
        reason = form.reason.data or ""
        withdraw_sign_off(session, actor=actor(), now=now(), sign_off_id=sign_off_id, reason=reason)
        return _saved(key, "It is withdrawn.")

    answer = submit(form, take_back)
    page = answer or render_template(
        "training_records/withdraw.html", form=form, person=get_person(db(), key=key), known=known
    )
    return page, status_of(form)


def _seen_person(key: str) -> KnownPerson:
    """Return the person of a record that may be seen.

    Raises:
        NotFound: there is nobody of this mark, or it is not for whoever asks.
    """
    if key != actor().person_key and not allowed(actor().role, Permission.SEE_EVERYBODY):
        raise NotFound("There is no record here for you. Your own is under My record on Today.")
    person = get_person(db(), key=key)
    if person.erased:
        raise NotFound("What was personal of this person is erased.")
    return person


def _rates(person_id: int) -> dict[str, str]:
    """Return the strike rate of what a person stuck, in words by cutting type ("" unrecorded)."""
    question = RateQuestion(
        by=(RateKey.CUTTING_TYPE,), restuck=USUAL_RESTUCK, only_person_id=person_id
    )
    return {
        "" if group.values[0] == NOT_RECORDED else group.values[0]: estimate_words(group.square)
        for group in learned_answer(question).groups
    }


def _compared(person_id: int) -> "PersonCompared":
    """Return how a person's batches did beside what others got with the same work."""
    from app.domain.comparisons_batches import known_outcomes  # noqa: PLC0415 - loads numpy
    from app.domain.training_comparisons import compare_person  # noqa: PLC0415 - loads numpy
    from app.store.queries.standouts import read_standouts  # noqa: PLC0415 - loads numpy

    fit = learned_fit()
    asked = RateQuestion(restuck=USUAL_RESTUCK)
    question = StandoutQuestion(by=StandoutBy.PERSON, asked=asked, only_person_id=person_id)
    records = read_standouts(db(), question=question)
    return compare_person(
        records.batches,
        labelled=records.labelled,
        person_id=person_id,
        outcomes=known_outcomes(records.batches, fit=fit),
        correlation=fit.correlation if fit else ASSUMED_CORRELATION,
    )


def _compared_words(line: "Standout | None") -> str:
    if line is None:
        return (
            "Nothing is said yet: it takes three finished batches of one's own, and others' of the "
            "same kind beside them."
        )
    return (
        f"{batches(line.batches).capitalize()}: {percent(line.observed)} rooted, where "
        f"{percent(line.expected)} was to be expected of the same plants, methods and months."
    )


def _saved(key: str, message: str) -> Saved:
    # What is said after saving is stored with the form's key, so it has no name in it.
    return Saved(location=url_for("training_records.show", key=key), message=message)
