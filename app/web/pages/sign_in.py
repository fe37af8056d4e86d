"""The way in: sign in, out, change person, and a new password by a one-time code."""

from typing import Final

from flask import Blueprint, Response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from app.domain.permissions import Permission
from app.services.passwords import hash_password, needs_rehash, password_matches
from app.services.sign_in import Try, end_session, end_try
from app.store.queries.accounts import (
    count_usable_heads,
    find_account,
    list_sign_in_names,
)
from app.web.arrivals import kept_fields, local_path
from app.web.forms.sign_in import ChangePersonForm, SignInForm
from app.web.permissions import allow, allow_anyone
from app.web.requests import database, now, reading, status_of
from app.web.sessions import sign_in_here, sign_out_here
from app.web.trying import ready_to_try

blueprint = Blueprint("sign_in", __name__)

_WRONG: Final = (
    "Name and password do not go together. Look at both; the name is the one in the log. "
    "If you have forgotten the password, the head propagator can give you a one-time code."
)


@blueprint.route("/sign-in", methods=["GET", "POST"])
@allow_anyone
def sign_in() -> ResponseReturnValue:
    """Ask for name and password, and lead on to where the person wanted to go."""
    form = SignInForm()
    if request.method == "POST":
        answer = _let_in(form)
        if answer is not None:
            return answer
    else:
        if not _has_head():
            return redirect(url_for("first_start.show"), code=303)
        form.next.data = local_path(request.args.get("next"))
    page = render_template("sign_in/sign_in.html", form=form, kept=kept_fields())
    return page, status_of(form)


@blueprint.route("/change-person", methods=["GET", "POST"])
@allow(Permission.READ)
def change_person() -> ResponseReturnValue:
    """Let the next person at this PC in: choose the name, type the password."""
    form = ChangePersonForm()
    with reading() as session:
        form.offer(list_sign_in_names(session))
    if request.method == "POST":
        answer = _let_in(form)
        if answer is not None:
            return answer
    else:
        form.next.data = local_path(request.args.get("next"))
    return render_template("sign_in/change_person.html", form=form), status_of(form)


@blueprint.route("/sign-out", methods=["POST"])
@allow_anyone
def sign_out() -> ResponseReturnValue:
    """End this session, here and in the database."""
    store = database()
    token = sign_out_here()
    if token is not None:
        with store.writing() as session:
            end_session(session, token=token, now=now(), why="signed out")
    return redirect(url_for("sign_in.sign_in"), code=303)


def _has_head() -> bool:
    with reading() as session:
        return count_usable_heads(session) > 0


def _let_in(form: SignInForm) -> ResponseReturnValue | None:
    """Return the way on for the right password, or None with the reason in the form."""
    tried = ready_to_try(form, name=form.name.data or "")
    if tried is None:
        return None
    if not _enter(tried, form.password.data):
        form.refuse(_WRONG)
        return None
    return _lead_on(local_path(form.next.data))


def _enter(tried: Try, password: str) -> bool:
    """Compare, outside any transaction, then write down how it went and begin the session."""
    matched = password_matches(tried.password_hash, password=password)
    new_hash = hash_password(password) if matched and needs_rehash(tried.password_hash) else None
    with database().writing() as session:
        token = end_try(session, tried=tried, matched=matched, now=now(), new_hash=new_hash)
        account = find_account(session, account_id=tried.account_id) if tried.account_id else None
    if token is None or account is None:
        return False
    before = sign_out_here()
    if before is not None:
        with database().writing() as session:
            end_session(session, token=before, now=now(), why="changed person")
    sign_in_here(token, actor=account.actor)
    return True


def _lead_on(address: str) -> ResponseReturnValue:
    """Lead to the page, or first to what was typed there before the sign-in ran out."""
    kept = kept_fields()
    if not kept:
        return redirect(address, code=303)
    page = render_template("sign_in/carry_on.html", address=address, kept=kept)
    return Response(page, mimetype="text/html")
