"""Reads of people: the list, one of them, and names to choose from."""

from dataclasses import dataclass
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.people import Role
from app.domain.problems import NotFound
from app.store.models.accounts import Account
from app.store.models.people import Person

_PEOPLE: Final = select(Person, Account).outerjoin(Account, Account.person_id == Person.id)


@dataclass(frozen=True, kw_only=True)
class KnownPerson:
    """A person as they stand; without a role they are named in records but never sign in."""

    id: int
    key: str
    name: str
    notes: str
    role: Role | None
    account_id: int | None
    has_password: bool
    disabled: bool
    erased: bool
    version: int

    @property
    def signs_in(self) -> bool:
        """Whether this person can sign in now."""
        return self.role is not None and self.has_password and not self.disabled

    @property
    def sign_in_words(self) -> str:
        """How it stands with signing in, in words."""
        if self.erased:
            return "erased"
        if self.role is None:
            return "does not sign in"
        if self.disabled:
            return "stopped from signing in"
        return "can sign in" if self.has_password else "has no password yet"


@dataclass(frozen=True, kw_only=True)
class PersonName:
    """A person to choose from in a list."""

    id: int
    name: str


def list_people(session: Session) -> tuple[KnownPerson, ...]:
    """Return everybody who is not erased, by name."""
    rows = session.execute(_PEOPLE.where(Person.erased_at.is_(None)).order_by(Person.name_key))
    return tuple(_known(row.Person, row.Account) for row in rows)


def list_person_names(session: Session) -> tuple[PersonName, ...]:
    """Return everybody who may be named in a new record, by name; disabled ones left out."""
    query = (
        select(Person.id, Person.name)
        .outerjoin(Account, Account.person_id == Person.id)
        .where(Person.erased_at.is_(None), Account.disabled_at.is_(None))
        .order_by(Person.name_key)
    )
    return tuple(PersonName(id=row.id, name=row.name) for row in session.execute(query))


def get_person(session: Session, *, key: str) -> KnownPerson:
    """Return the person with this key, also an erased one.

    Raises:
        NotFound: there is none.
    """
    row = session.execute(_PEOPLE.where(Person.key == key)).one_or_none()
    if row is None:
        raise NotFound("There is nobody with this mark in the log.")
    return _known(row.Person, row.Account)


def find_person(session: Session, *, name_key: str) -> KnownPerson | None:
    """Return the person with this folded name who is not erased, or None."""
    query = _PEOPLE.where(Person.name_key == name_key, Person.erased_at.is_(None))
    row = session.execute(query).one_or_none()
    return None if row is None else _known(row.Person, row.Account)


def _known(person: Person, account: Account | None) -> KnownPerson:
    return KnownPerson(
        id=person.id,
        key=person.key,
        name=person.name,
        notes=person.notes,
        role=Role(account.role) if account else None,
        account_id=account.id if account else None,
        has_password=bool(account and account.password_hash),
        disabled=bool(account and account.disabled_at),
        erased=person.erased_at is not None,
        version=person.version,
    )
