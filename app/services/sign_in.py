"""Signing in and out.

A try at the door has three steps, so that the slow comparing of passwords happens outside any
transaction: `begin_try` reads, the caller compares, `end_try` writes. What is written about a
wrong try holds a mark of the name, never the name itself: somebody may have typed a password there.
"""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import ColumnElement, delete, update
from sqlalchemy.orm import Session

from app.domain.people import name_key
from app.domain.sign_in import free_again_at
from app.store.models.accounts import Account, SessionRow, SignInEvent
from app.store.queries.accounts import RIGHT, WRONG, find_account_by_name, wrong_tries

# Who came from where is personal: it is kept for as long as somebody may have to look into it.
KEPT_FOR: Final = timedelta(days=90)
_TOKEN_BYTES: Final = 32
_MARK_LENGTH: Final = 8


@dataclass(frozen=True, kw_only=True)
class Try:
    """A try at the door: with which name's mark, from where, and the hash to compare with.

    `free_again_at` is the instant before which it does not count at all, or None.
    """

    name_mark: str
    address: str
    account_id: int | None
    password_hash: str
    free_again_at: datetime | None


def token_hash(token: str) -> str:
    """Return the SHA-256 in hexadecimal by which a session's token is looked up."""
    return hashlib.sha256(token.encode()).hexdigest()


def begin_try(session: Session, *, name: str, address: str, now: datetime) -> Try:
    """Return what to compare a password with; an unknown name gives an empty hash."""
    folded = name_key(name)
    account = find_account_by_name(session, name_key=folded)
    mark = account.actor.person_key if account else _mark_of_unknown(folded)
    usable = account is not None and account.usable
    return Try(
        name_mark=mark,
        address=address,
        account_id=account.id if account and usable else None,
        password_hash=account.password_hash if account and usable else "",
        free_again_at=_free_again_at(session, mark=mark, address=address, now=now),
    )


def end_try(
    session: Session, *, tried: Try, matched: bool, now: datetime, new_hash: str | None = None
) -> str | None:
    """Write down how the try went; return the token of the new session, or None for a wrong one.

    `new_hash` replaces a hash of an older cost. The waiting time is looked at again, so that many
    tries at once gain nothing, and so is the account, which may have been shut meanwhile.
    """
    wait = _free_again_at(session, mark=tried.name_mark, address=tried.address, now=now)
    if wait is not None and wait > now:
        return None
    account = session.get(Account, tried.account_id) if tried.account_id is not None else None
    right = (
        matched
        and account is not None
        and account.disabled_at is None
        and account.password_hash == tried.password_hash
    )
    _write_event(session, tried=tried, outcome=RIGHT if right else WRONG, now=now)
    if account is None or not right:
        return None
    if new_hash is not None:
        account.password_hash = new_hash
    return begin_session(session, account_id=account.id, now=now)


def write_wrong_try(session: Session, *, tried: Try, now: datetime) -> None:
    """Write down a try that failed for another reason than the password, such as a wrong code."""
    _write_event(session, tried=tried, outcome=WRONG, now=now)


def begin_session(session: Session, *, account_id: int, now: datetime) -> str:
    """Begin a session and return its random token, which is stored nowhere.

    Sessions and tries that nobody has used for 90 days are forgotten on the way.
    """
    session.execute(delete(SessionRow).where(SessionRow.seen_at < now - KEPT_FOR))
    session.execute(delete(SignInEvent).where(SignInEvent.at < now - KEPT_FOR))
    token = secrets.token_urlsafe(_TOKEN_BYTES)
    row = SessionRow(token_hash=token_hash(token), account_id=account_id, began_at=now, seen_at=now)
    session.add(row)
    session.flush()
    return token


def end_session(session: Session, *, token: str, now: datetime, why: str) -> None:
    """End one session; a token that is not known or already ended changes nothing."""
    _end(session, SessionRow.token_hash == token_hash(token), now=now, why=why)


def end_sessions_of(session: Session, *, account_id: int, now: datetime, why: str) -> None:
    """End every session of an account, wherever it is open."""
    _end(session, SessionRow.account_id == account_id, now=now, why=why)


def mark_seen(session: Session, *, token: str, now: datetime) -> None:
    """Note that a session was used."""
    session.execute(
        update(SessionRow)
        .where(SessionRow.token_hash == token_hash(token), SessionRow.ended_at.is_(None))
        .values(seen_at=now)
    )


def _end(session: Session, which: ColumnElement[bool], *, now: datetime, why: str) -> None:
    session.execute(
        update(SessionRow)
        .where(which, SessionRow.ended_at.is_(None))
        .values(ended_at=now, ended_why=why)
    )


def _write_event(session: Session, *, tried: Try, outcome: str, now: datetime) -> None:
    session.add(
        SignInEvent(name_key=tried.name_mark, address=tried.address, at=now, outcome=outcome)
    )
    session.flush()


def _free_again_at(session: Session, *, mark: str, address: str, now: datetime) -> datetime | None:
    return free_again_at(
        pair=wrong_tries(session, now=now, name_mark=mark, address=address),
        by_name=wrong_tries(session, now=now, name_mark=mark),
        by_address=wrong_tries(session, now=now, address=address),
    )


def _mark_of_unknown(folded: str) -> str:
    # Too short to find the typed text from, long enough to count tries by.
    return f"unknown {hashlib.sha256(folded.encode()).hexdigest()[:_MARK_LENGTH]}"
