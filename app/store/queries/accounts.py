"""Reads of accounts: who may sign in, which sessions are open, what happened at the door."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import ColumnElement, and_, func, select
from sqlalchemy.orm import Session

from app.domain.people import Actor, Role
from app.domain.sign_in import REMEMBERED, WrongTries, is_idle
from app.store.models.accounts import Account, SessionRow, SignInEvent
from app.store.models.people import Person

RIGHT: Final = "right"
WRONG: Final = "wrong"

_ACCOUNTS: Final = select(
    Account.id,
    Account.role,
    Account.password_hash,
    Account.disabled_at,
    Person.id.label("person_id"),
    Person.key,
    Person.name,
).join(Person, Person.id == Account.person_id)


@dataclass(frozen=True, kw_only=True)
class KnownAccount:
    """A person's way in as it stands; without a hash or when disabled nobody gets in by it."""

    id: int
    actor: Actor
    password_hash: str
    disabled: bool

    @property
    def usable(self) -> bool:
        """Whether somebody can sign in by it."""
        return bool(self.password_hash) and not self.disabled


@dataclass(frozen=True, kw_only=True)
class OpenSession:
    """A sign-in that still holds."""

    account_id: int
    actor: Actor
    seen_at: datetime


def _find(session: Session, condition: ColumnElement[bool]) -> KnownAccount | None:
    row = session.execute(_ACCOUNTS.where(condition)).one_or_none()
    if row is None:
        return None
    actor = Actor(person_id=row.person_id, person_key=row.key, name=row.name, role=Role(row.role))
    return KnownAccount(
        id=row.id,
        actor=actor,
        password_hash=row.password_hash,
        disabled=row.disabled_at is not None,
    )


def find_account_by_name(session: Session, *, name_key: str) -> KnownAccount | None:
    """Return the account of the person with this folded name, or None."""
    return _find(session, and_(Person.name_key == name_key, Person.erased_at.is_(None)))


def find_account(session: Session, *, account_id: int) -> KnownAccount | None:
    """Return the account with this id, or None."""
    return _find(session, Account.id == account_id)


def list_sign_in_names(session: Session) -> tuple[str, ...]:
    """Return the names of everybody who can sign in, by name."""
    query = (
        select(Person.name)
        .join(Account, Account.person_id == Person.id)
        .where(
            Account.disabled_at.is_(None), Account.password_hash != "", Person.erased_at.is_(None)
        )
        .order_by(Person.name_key)
    )
    return tuple(session.scalars(query))


def count_usable_heads(session: Session, *, but: int | None = None) -> int:
    """Return how many heads can sign in, leaving out the person with the id `but`."""
    query = (
        select(func.count())
        .select_from(Account)
        .where(
            Account.role == str(Role.HEAD),
            Account.disabled_at.is_(None),
            Account.password_hash != "",
        )
    )
    if but is not None:
        query = query.where(Account.person_id != but)
    return session.scalar(query) or 0


def find_open_session(session: Session, *, token_hash: str, now: datetime) -> OpenSession | None:
    """Return the sign-in with this token, or None if it ended, ran out or its account is shut."""
    row = session.execute(
        select(SessionRow.account_id, SessionRow.seen_at).where(
            SessionRow.token_hash == token_hash, SessionRow.ended_at.is_(None)
        )
    ).one_or_none()
    if row is None or is_idle(seen_at=row.seen_at, now=now):
        return None
    account = find_account(session, account_id=row.account_id)
    if account is None or not account.usable:
        return None
    return OpenSession(account_id=account.id, actor=account.actor, seen_at=row.seen_at)


def wrong_tries(
    session: Session, *, now: datetime, name_mark: str | None = None, address: str | None = None
) -> WrongTries:
    """Return the wrong tries of the last 24 hours since the last right one, by mark or address."""
    conditions = [SignInEvent.at <= now, SignInEvent.at > now - REMEMBERED]
    if name_mark is not None:
        conditions.append(SignInEvent.name_key == name_mark)
    if address is not None:
        conditions.append(SignInEvent.address == address)
    newest_right = (
        select(func.coalesce(func.max(SignInEvent.id), 0))
        .where(*conditions, SignInEvent.outcome == RIGHT)
        .scalar_subquery()
    )
    row = session.execute(
        select(func.count().label("number"), func.max(SignInEvent.at).label("newest_at")).where(
            *conditions, SignInEvent.outcome == WRONG, SignInEvent.id > newest_right
        )
    ).one()
    return WrongTries(number=row.number, newest_at=row.newest_at)
