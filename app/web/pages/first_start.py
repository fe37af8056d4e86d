"""The first start: with the code shown on the PC, the first head makes their way in."""

from typing import Final

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.nursery import NurseryEntry
from app.domain.passwords import accepted_password
from app.domain.people import Actor, accepted_name
from app.domain.problems import NotAccepted
from app.services.nursery import correct_nursery
from app.services.one_time_codes import code_fits, use_code
from app.services.passwords import hash_password
from app.services.people import make_first_head
from app.services.sign_in import begin_session
from app.store.queries.accounts import count_usable_heads
from app.store.queries.nursery import get_nursery
from app.web.forms.first_start import FirstStartForm, zone_names
from app.web.permissions import allow_anyone
from app.web.requests import database, now, nursery, reading, status_of
from app.web.sessions import sign_in_here
from app.web.trying import note_wrong, ready_to_try

blueprint = Blueprint("first_start", __name__)

# Tries at this page are counted together, whatever name was typed.
_DOOR: Final = "first start"


@blueprint.route("/first-start", methods=["GET", "POST"])
@allow_anyone
def show() -> ResponseReturnValue:
    """Ask for the code, a name and a password, as long as no head can sign in."""
    if _has_head():
        return redirect(url_for("sign_in.sign_in"), code=303)
    form = FirstStartForm()
    if request.method == "POST":
        try:
            if _make_head(form):
                return redirect("/", code=303)
        except NotAccepted as refusal:
            form.refuse_all(refusal)
    else:
        form.zone.data = nursery().zone
    page = render_template("first_start/show.html", form=form, zones=zone_names())
    return page, status_of(form)


def _has_head() -> bool:
    with reading() as session:
        return count_usable_heads(session) > 0


def _make_head(form: FirstStartForm) -> bool:
    """Return whether the first head was made and is signed in; if not, the form says why."""
    tried = ready_to_try(form, name=_DOOR)
    if tried is None:
        return False
    name = accepted_name(form.name.data)
    password = accepted_password(form.password.data, name=name)
    with reading() as session:
        fits = code_fits(session, code=form.code.data, account_id=None, now=now())
    if not fits:
        note_wrong(tried)
    # Hashing takes its time, so it is done before the writing transaction; a code that does not
    # fit is refused inside it.
    password_hash = hash_password(password) if fits else ""
    with database().writing() as session:
        use_code(session, code=form.code.data, account_id=None, now=now())
        account = make_first_head(session, now=now(), name=name, password_hash=password_hash)
        _name_nursery(session, account.actor, form)
        token = begin_session(session, account_id=account.id, now=now())
    sign_in_here(token, actor=account.actor)
    return True


def _name_nursery(session: Session, head: Actor, form: FirstStartForm) -> None:
    before = get_nursery(session)
    entry = NurseryEntry(
        name=form.nursery.data or before.name,
        zone=form.zone.data,
        hemisphere=before.hemisphere,
        medium_word=before.medium_word,
    )
    correct_nursery(session, actor=head, now=now(), version=before.version, entry=entry)
