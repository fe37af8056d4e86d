"""A new password: by a one-time code, or by the one there was."""

from typing import Final

from flask import Blueprint, redirect, render_template, request
from flask.typing import ResponseReturnValue

from app.domain.passwords import accepted_password
from app.domain.people import name_key
from app.domain.permissions import Permission
from app.domain.problems import NotAccepted
from app.services.one_time_codes import code_fits, use_code
from app.services.passwords import hash_password, password_matches
from app.services.people import set_password
from app.services.sign_in import begin_session
from app.store.queries.accounts import KnownAccount, find_account, find_account_by_name
from app.web.forms.passwords import CodeForm, OwnPasswordForm
from app.web.permissions import allow, allow_anyone
from app.web.requests import actor, database, now, reading, status_of
from app.web.results import Saved, announce
from app.web.sessions import sign_in_here
from app.web.trying import note_wrong, ready_to_try

blueprint = Blueprint("passwords", __name__)

_CODE_WRONG: Final = (
    "Name and code do not go together. Look at both, or ask the head for a new code: each works "
    "once, for an hour."
)
_WRONG: Final = "That is not your password until now."
_DONE: Final = "Your new password holds. Everywhere else you were signed in, you are signed out."


@blueprint.route("/new-password", methods=["GET", "POST"])
@allow_anyone
def redeem() -> ResponseReturnValue:
    """Set a new password by a one-time code, and sign in with it."""
    form = CodeForm()
    if request.method == "POST" and _redeemed(form):
        return redirect("/", code=303)
    return render_template("passwords/redeem.html", form=form), status_of(form)


@blueprint.route("/own-password", methods=["GET", "POST"])
@allow(Permission.READ)
def change() -> ResponseReturnValue:
    """Change one's own password; every other session of it ends."""
    form = OwnPasswordForm()
    if request.method == "POST" and _changed(form):
        return redirect("/", code=303)
    return render_template("passwords/change.html", form=form), status_of(form)


def _redeemed(form: CodeForm) -> bool:
    tried = ready_to_try(form, name=form.name.data or "")
    if tried is None:
        return False
    with reading() as session:
        account = find_account_by_name(session, name_key=name_key(form.name.data))
        fits = account is not None and code_fits(
            session, code=form.code.data, account_id=account.id, now=now()
        )
    if account is None or account.disabled or not fits:
        note_wrong(tried)
        form.refuse(_CODE_WRONG)
        return False
    return _store(form, account, form.password.data, field="password", code=form.code.data)


def _changed(form: OwnPasswordForm) -> bool:
    tried = ready_to_try(form, name=actor().name)
    if tried is None:
        return False
    if not password_matches(tried.password_hash, password=form.password.data):
        note_wrong(tried)
        form.refuse(_WRONG, field="password")
        return False
    with reading() as session:
        account = find_account(session, account_id=tried.account_id or 0)
    if account is None:
        return False
    return _store(form, account, form.new_password.data, field="new_password", code=None)


def _store(
    form: CodeForm | OwnPasswordForm,
    account: KnownAccount,
    password: str,
    *,
    field: str,
    code: str | None,
) -> bool:
    """Hash outside any transaction, then store and begin a fresh session; False says why not."""
    try:
        accepted_password(password, name=account.actor.name, field=field)
        password_hash = hash_password(password)
        with database().writing() as session:
            if code is not None:
                use_code(session, code=code, account_id=account.id, now=now())
            set_password(session, now=now(), account_id=account.id, password_hash=password_hash)
            token = begin_session(session, account_id=account.id, now=now())
    except NotAccepted as refusal:
        form.refuse_all(refusal)
        return False
    sign_in_here(token, actor=account.actor)
    announce(Saved(location="/", message=_DONE))
    return True
