"""People: who is named in the log, who signs in and for what. For the head."""

from typing import Final

from flask import Blueprint, render_template, url_for
from flask import session as cookie
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.permissions import Permission
from app.services.one_time_codes import make_code
from app.services.people import add_person, correct_person, erase_person, let_in_again, shut_out
from app.store.queries.people import KnownPerson, get_person, list_people
from app.web.forms.base import PostForm
from app.web.forms.people import NO_SIGN_IN, CorrectedPersonForm, PersonForm
from app.web.permissions import allow
from app.web.requests import actor, db, now, press, status_of, submit
from app.web.results import Saved

blueprint = Blueprint("people", __name__)

# What is said after saving is stored with the form's key, so none of these sentences has a name.
_ADDED: Final = "The person is in the list now."
_MAY_ENTER: Final = "The person is in the list now. To sign in they need a one-time code from you."
_CORRECTED: Final = "The person is corrected."
_SHUT_OUT: Final = "This person cannot sign in any more, and is signed out everywhere."
_LET_IN: Final = "This person can sign in again, with the password they had."
_ERASED: Final = "What was personal is erased. Records keep a mark in place of the name."


@blueprint.route("/people")
@allow(Permission.KEEP_PEOPLE)
def show_all() -> ResponseReturnValue:
    """List everybody."""
    return render_template("people/list.html", people=list_people(db()))


@blueprint.route("/people/new", methods=["GET", "POST"])
@allow(Permission.KEEP_PEOPLE)
def create() -> ResponseReturnValue:
    """Add somebody."""
    form = PersonForm()
    answer = submit(form, lambda session: _add(session, form))
    return answer or render_template("people/new.html", form=form), status_of(form)


@blueprint.route("/people/<key>", methods=["GET", "POST"])
@allow(Permission.KEEP_PEOPLE)
def edit(key: str) -> ResponseReturnValue:
    """Show one person, to be corrected."""
    person = get_person(db(), key=key)
    form = CorrectedPersonForm(
        name=person.name, role=_role_value(person), notes=person.notes, version=person.version
    )
    if person.role is not None:
        # An account is not taken away by a choice among roles; that is a button of its own.
        form.role.choices = [choice for choice in form.role.choices if choice != NO_SIGN_IN]
    answer = submit(form, lambda session: _correct(session, key, form))
    page = answer or render_template("people/edit.html", form=form, person=person)
    return page, status_of(form)


@blueprint.route("/people/<key>/code", methods=["POST"])
@allow(Permission.KEEP_PEOPLE)
def give_code(key: str) -> ResponseReturnValue:
    """Make a one-time code and show it, this once: it is stored nowhere but as a hash."""
    made: list[str] = []
    answer = press(lambda session: _make_code(session, key, made))
    if not made:
        return answer
    # The page itself says it; a notice above it would only say it again.
    cookie.pop("_flashes", None)
    return render_template("people/code.html", person=get_person(db(), key=key), code=made[0])


@blueprint.route("/people/<key>/shut-out", methods=["POST"])
@allow(Permission.KEEP_PEOPLE)
def shut(key: str) -> ResponseReturnValue:
    """Disable the person's account."""
    return press(lambda session: _shut_out(session, key))


@blueprint.route("/people/<key>/let-in", methods=["POST"])
@allow(Permission.KEEP_PEOPLE)
def let_in(key: str) -> ResponseReturnValue:
    """Enable the person's account again."""
    return press(lambda session: _let_in(session, key))


@blueprint.route("/people/<key>/erase", methods=["GET", "POST"])
@allow(Permission.KEEP_PEOPLE)
def erase(key: str) -> ResponseReturnValue:
    """Ask, then erase what is personal: it cannot be undone."""
    person = get_person(db(), key=key)
    form = PostForm()
    answer = submit(form, lambda session: _erase(session, key))
    page = answer or render_template("people/erase.html", form=form, person=person)
    return page, status_of(form)


def _add(session: Session, form: PersonForm) -> Saved:
    key = add_person(session, actor=actor(), now=now(), entry=form.entry())
    return Saved(
        location=url_for("people.edit", key=key),
        message=_MAY_ENTER if form.role.data else _ADDED,
        next=url_for("people.create"),
    )


def _correct(session: Session, key: str, form: CorrectedPersonForm) -> Saved:
    correct_person(
        session,
        actor=actor(),
        now=now(),
        key=key,
        version=form.version.data,
        entry=form.entry(),
    )
    here = url_for("people.edit", key=key)
    return Saved(location=url_for("people.show_all"), message=_CORRECTED, link=here)


def _make_code(session: Session, key: str, made: list[str]) -> Saved:
    person = get_person(session, key=key)
    code = make_code(session, actor=actor(), account_id=person.account_id or 0, now=now())
    made.append(code)
    return Saved(location=url_for("people.edit", key=key), message="A one-time code was made.")


def _shut_out(session: Session, key: str) -> Saved:
    shut_out(session, actor=actor(), now=now(), key=key)
    undo = url_for("people.let_in", key=key)
    return Saved(location=url_for("people.edit", key=key), message=_SHUT_OUT, undo=undo)


def _let_in(session: Session, key: str) -> Saved:
    let_in_again(session, actor=actor(), now=now(), key=key)
    undo = url_for("people.shut", key=key)
    return Saved(location=url_for("people.edit", key=key), message=_LET_IN, undo=undo)


def _erase(session: Session, key: str) -> Saved:
    erase_person(session, actor=actor(), now=now(), key=key)
    return Saved(location=url_for("people.show_all"), message=_ERASED)


def _role_value(person: KnownPerson) -> str:
    return person.role.value if person.role else ""
