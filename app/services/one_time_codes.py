"""One-time codes: they make the first head, or let somebody set a new password.

A code lasts 60 minutes and works once; only its hash is stored. A new code for the same purpose
ends the ones before.
"""

import hashlib
import secrets
from datetime import datetime
from typing import Final

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.domain.sign_in import CODE_LASTS
from app.services.history import record_change
from app.store.models.accounts import Account, OneTimeCode
from app.store.models.people import Person
from app.store.queries.accounts import count_usable_heads

# Without the letters and digits that are taken for one another. 12 of 31 are 59 bits.
_ALPHABET: Final = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
_GROUPS: Final = 3
_GROUP_LENGTH: Final = 4


def make_first_code(session: Session, *, now: datetime) -> str | None:
    """Return a code to make the first head with, or None where a head can sign in already."""
    if count_usable_heads(session):
        return None
    return _make(session, account_id=None, now=now)


def make_code(session: Session, *, actor: Actor | None, account_id: int, now: datetime) -> str:
    """Return a code by which the account's person sets a new password.

    `actor` is None where the code was asked for on the PC itself.

    Raises:
        NotAccepted: the account is disabled or does not exist.
    """
    account = session.get(Account, account_id)
    if account is None or account.disabled_at is not None:
        raise NotAccepted.at("", "This person cannot sign in. Let them in again first.")
    key = session.scalars(select(Person.key).where(Person.id == account.person_id)).one()
    record_change(
        session, actor=actor, now=now, what="one-time code made", subject=f"person {key}", change={}
    )
    return _make(session, account_id=account_id, now=now)


def code_fits(session: Session, *, code: str, account_id: int | None, now: datetime) -> bool:
    """Return whether the code works now for the account, or for making the first head (None)."""
    return _find(session, code=code, account_id=account_id, now=now) is not None


def use_code(session: Session, *, code: str, account_id: int | None, now: datetime) -> None:
    """Use the code up.

    Raises:
        NotAccepted: it is not known, was used before, or its time is up.
    """
    found = _find(session, code=code, account_id=account_id, now=now)
    if found is None:
        raise NotAccepted.at(
            "code",
            "This code does not work: look it over, or ask for a new one (they last an hour).",
        )
    found.used_at = now
    session.flush()


def _make(session: Session, *, account_id: int | None, now: datetime) -> str:
    session.execute(
        update(OneTimeCode)
        .where(OneTimeCode.account_id.is_not_distinct_from(account_id))
        .where(OneTimeCode.used_at.is_(None), OneTimeCode.expires_at > now)
        .values(expires_at=now)
    )
    groups = [
        "".join(secrets.choice(_ALPHABET) for _ in range(_GROUP_LENGTH)) for _ in range(_GROUPS)
    ]
    code = "-".join(groups)
    row = OneTimeCode(
        code_hash=_code_hash(code), account_id=account_id, made_at=now, expires_at=now + CODE_LASTS
    )
    session.add(row)
    session.flush()
    return code


def _find(
    session: Session, *, code: str, account_id: int | None, now: datetime
) -> OneTimeCode | None:
    return session.scalars(
        select(OneTimeCode).where(
            OneTimeCode.code_hash == _code_hash(code),
            OneTimeCode.account_id.is_not_distinct_from(account_id),
            OneTimeCode.used_at.is_(None),
            OneTimeCode.expires_at > now,
        )
    ).one_or_none()


def _code_hash(code: str) -> str:
    plain = "".join(sign for sign in code.upper() if sign.isalnum())
    return hashlib.sha256(plain.encode()).hexdigest()
