"""The browser's side of a sign-in: flask-login over our own table of sessions.

The cookie carries a random token. A token whose session ended is refused, also from a copied
cookie; flask-login's own remembering cookie could not be taken back and is not used.
"""

from dataclasses import dataclass
from typing import Any

from flask import Flask, current_app, g, session
from flask_login import LoginManager, UserMixin, current_user, login_user
from sqlalchemy.exc import OperationalError

from app.domain.people import Actor
from app.domain.sign_in import SEEN_EVERY
from app.services.sign_in import mark_seen, token_hash
from app.store.queries.accounts import OpenSession, find_open_session
from app.web.permissions import may
from app.web.requests import now, nursery, reading, running, token_failed


@dataclass(frozen=True, kw_only=True)
class SignedIn(UserMixin):
    """Somebody who is signed in on this device."""

    token: str
    actor: Actor

    def get_id(self) -> str:
        """Return the token, which flask-login keeps in the signed cookie."""
        return self.token


def keep_sessions(app: Flask) -> None:
    """Let flask-login find people by their session, and templates know who is signed in."""
    manager = LoginManager()
    # Its protection ties a session to the network address, which phones change all day.
    manager.session_protection = None
    manager.user_loader(_find)
    manager.init_app(app, add_context_processor=False)
    app.context_processor(_who_and_where)


def sign_in_here(token: str, *, actor: Actor) -> None:
    """Make this browser the one of a fresh session; nothing of the person before is carried on."""
    session.clear()
    login_user(SignedIn(token=token, actor=actor))


def sign_out_here() -> str | None:
    """Forget the session in this browser and return its token, to be ended in the database too."""
    token = current_user.get_id() if current_user.is_authenticated else None
    session.clear()
    return token


def _find(token: str) -> SignedIn | None:
    with reading() as session_store:
        found = find_open_session(session_store, token_hash=token_hash(token), now=now())
    if found is None:
        return None
    _note_seen(token, found)
    return SignedIn(token=token, actor=found.actor)


def _note_seen(token: str, found: OpenSession) -> None:
    """Write "last seen" now and then, in a short transaction of its own."""
    if now() - found.seen_at < SEEN_EVERY or token_failed():
        return
    try:
        with running().database.writing() as writing:
            mark_seen(writing, token=token, now=now())
    except OperationalError:
        # Reading goes on where the disk is full or the file is held by another program.
        current_app.logger.warning("Could not note that a session was used", exc_info=True)


def _who_and_where() -> dict[str, Any]:
    if "bare_page" in g:
        # The page for a fault asks a broken database neither who is signed in nor where.
        return {"signed_in": None, "nursery_name": "", "may": lambda _permission: False}
    person = current_user.actor if current_user.is_authenticated else None
    return {"signed_in": person, "nursery_name": nursery().name, "may": may}
