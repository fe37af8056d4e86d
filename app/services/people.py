"""People: adding, correcting, letting in, shutting out, and erasing what is personal.

History names people by their key; that a name changed is written there, the name is not.
"""

import secrets
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session
from sqlalchemy.orm.attributes import flag_modified

from app.domain.people import ERASED_NAME, Actor, Role, accepted_name, name_key
from app.domain.problems import ChangedMeanwhile, FieldChange, NotAccepted, NotFound
from app.services.corrections import correct_row
from app.services.history import JsonValue, record_change
from app.services.sign_in import end_sessions_of
from app.store.models.accounts import Account, OneTimeCode, SignInEvent
from app.store.models.people import Person
from app.store.models.sign_offs import SignOff
from app.store.queries.accounts import KnownAccount, count_usable_heads
from app.store.queries.people import find_person

_KEY_BYTES: Final = 8
_NOT_KEPT: Final[JsonValue] = "not kept here"
_LAST_HEAD: Final = (
    "This is the only head propagator who can sign in. Let another head sign in first."
)


@dataclass(frozen=True, kw_only=True)
class PersonEntry:
    """What is typed about a person; without a role they do not sign in."""

    name: str
    role: Role | None = None
    notes: str = ""


def add_person(session: Session, *, actor: Actor | None, now: datetime, entry: PersonEntry) -> str:
    """Add somebody and return their key; with a role they can be given a one-time code.

    Raises:
        NotAccepted: the name is not possible or taken.
    """
    return _add(session, actor=actor, now=now, entry=entry).key


def keep_person(session: Session, *, actor: Actor | None, now: datetime, name: str) -> int:
    """Return the id of the person of this name, adding one who does not sign in where new.

    Raises:
        NotAccepted: the name is not possible.
    """
    found = find_person(session, name_key=name_key(name))
    if found is not None:
        return found.id
    return _add(session, actor=actor, now=now, entry=PersonEntry(name=name)).id


def correct_person(
    session: Session, *, actor: Actor, now: datetime, key: str, version: int, entry: PersonEntry
) -> None:
    """Correct a person's name and notes, and what they are here for.

    A role for somebody without an account gives them one; without a role nothing is taken away
    (see `shut_out`).

    Raises:
        NotAccepted: the name is not possible or taken, or the last head would be lost.
        ChangedMeanwhile: somebody else saved the person after `version` was read.
        NotFound: there is nobody with this key.
    """
    person = _person(session, key)
    name = accepted_name(entry.name)
    _refuse_taken(session, name, but=person.id)
    after = {"name": name, "notes": entry.notes.strip()}
    try:
        changed = correct_row(person, version=version, after=after)
    except ChangedMeanwhile as change:
        raise _with_role(change, _find_account(session, person), entry.role) from None
    person.name_key = name_key(name)
    changes: dict[str, JsonValue] = {field: [_NOT_KEPT, _NOT_KEPT] for field in changed}
    role_changed = _set_role(session, person, entry.role, now)
    if role_changed and not changed:
        # The role stands with the account, but it is edited on the person's page: that is a new
        # version of the person, so that two editors are told of each other.
        flag_modified(person, "name")
    changes |= role_changed
    if changes:
        session.flush()
        _write(session, actor, now, "person corrected", person, changes)


def shut_out(session: Session, *, actor: Actor, now: datetime, key: str) -> None:
    """Disable a person's account and end every session of it.

    Raises:
        NotAccepted: they do not sign in, or are the only head who can.
        NotFound: there is nobody with this key.
    """
    person = _person(session, key)
    account = _account(session, person)
    _refuse_last_head(session, person, account)
    if account.disabled_at is None:
        account.disabled_at = now
        end_sessions_of(session, account_id=account.id, now=now, why="account disabled")
        session.flush()
        _write(session, actor, now, "account disabled", person, {})


def let_in_again(session: Session, *, actor: Actor, now: datetime, key: str) -> None:
    """Enable a disabled account; its password is the one it had.

    Raises:
        NotAccepted: they have no account.
        NotFound: there is nobody with this key.
    """
    person = _person(session, key)
    account = _account(session, person)
    if account.disabled_at is not None:
        account.disabled_at = None
        session.flush()
        _write(session, actor, now, "account enabled", person, {})


def erase_person(session: Session, *, actor: Actor, now: datetime, key: str) -> None:
    """Take everything personal out of the log for good; records keep their mark of the person.

    Raises:
        NotAccepted: they are the one who asks, or the only head who can sign in.
        NotFound: there is nobody with this key.
    """
    person = _person(session, key)
    if person.id == actor.person_id:
        raise NotAccepted.at("", "You cannot erase yourself: another head has to do that.")
    account = _find_account(session, person)
    if account is not None:
        _refuse_last_head(session, person, account)
        account.password_hash = ""
        account.disabled_at = account.disabled_at or now
        end_sessions_of(session, account_id=account.id, now=now, why="person erased")
        session.execute(delete(OneTimeCode).where(OneTimeCode.account_id == account.id))
    session.execute(delete(SignInEvent).where(SignInEvent.name_key == person.key))
    own_words = {"note": "", "withdrawn_reason": ""}
    session.execute(update(SignOff).where(SignOff.person_id == person.id).values(own_words))
    person.name = ERASED_NAME
    person.name_key = f"erased {person.key}"
    person.notes = ""
    person.erased_at = now
    session.flush()
    _write(session, actor, now, "person erased", person, {})


def set_password(session: Session, *, now: datetime, account_id: int, password_hash: str) -> None:
    """Store a new password's hash and end every session that the old one opened.

    Raises:
        NotFound: there is no such account, or it is disabled.
    """
    account = session.get(Account, account_id)
    if account is None or account.disabled_at is not None:
        raise NotFound("This person cannot sign in.")
    person = session.get_one(Person, account.person_id)
    account.password_hash = password_hash
    end_sessions_of(session, account_id=account.id, now=now, why="password changed")
    session.flush()
    own = Actor(
        person_id=person.id, person_key=person.key, name=person.name, role=Role(account.role)
    )
    _write(session, own, now, "password set", person, {})


def make_first_head(
    session: Session, *, now: datetime, name: str, password_hash: str
) -> KnownAccount:
    """Make the first head, who can sign in at once, and return their account.

    Raises:
        NotAccepted: there is a head already, or the name is not possible.
    """
    if count_usable_heads(session):
        raise NotAccepted.at("", "There is a head already. Sign in, or ask them for a code.")
    found = find_person(session, name_key=name_key(name))
    if found is None:
        entry = PersonEntry(name=name, role=Role.HEAD)
        person = _add(session, actor=None, now=now, entry=entry)
    else:
        person = session.get_one(Person, found.id)
        _set_role(session, person, Role.HEAD, now)
    account = _account(session, person)
    account.disabled_at = None
    account.password_hash = password_hash
    session.flush()
    actor = Actor(person_id=person.id, person_key=person.key, name=person.name, role=Role.HEAD)
    _write(session, actor, now, "first head made", person, {})
    return KnownAccount(id=account.id, actor=actor, password_hash=password_hash, disabled=False)


def _add(session: Session, *, actor: Actor | None, now: datetime, entry: PersonEntry) -> Person:
    name = accepted_name(entry.name)
    _refuse_taken(session, name, but=None)
    person = Person(
        key=secrets.token_hex(_KEY_BYTES),
        name=name,
        name_key=name_key(name),
        notes=entry.notes.strip(),
    )
    session.add(person)
    session.flush()
    if entry.role is not None:
        session.add(Account(person_id=person.id, role=str(entry.role), made_at=now))
        session.flush()
    _write(session, actor, now, "person added", person, {})
    return person


def _set_role(
    session: Session, person: Person, role: Role | None, now: datetime
) -> dict[str, JsonValue]:
    account = _find_account(session, person)
    before = account.role if account else None
    if role is None or before == str(role):
        return {}
    if account is None:
        session.add(Account(person_id=person.id, role=str(role), made_at=now))
    else:
        _refuse_last_head(session, person, account)
        account.role = str(role)
    return {"role": [before or "", str(role)]}


def _person(session: Session, key: str) -> Person:
    person = session.scalars(
        select(Person).where(Person.key == key, Person.erased_at.is_(None))
    ).one_or_none()
    if person is None:
        raise NotFound("There is nobody with this mark in the log.")
    return person


def _find_account(session: Session, person: Person) -> Account | None:
    query = select(Account).where(Account.person_id == person.id)
    return session.scalars(query).one_or_none()


def _with_role(
    change: ChangedMeanwhile, account: Account | None, wanted: Role | None
) -> ChangedMeanwhile:
    """Return the two versions with the role among what differs: it stands with the account."""
    now, typed = (account.role if account else ""), str(wanted or "")
    if typed in {"", now}:
        return change
    role = FieldChange(field="here for", now=now or "no sign-in", wanted=typed)
    return ChangedMeanwhile(version=change.version, changes=(*change.changes, role))


def _account(session: Session, person: Person) -> Account:
    account = _find_account(session, person)
    if account is None:
        raise NotAccepted.at("", "This person does not sign in. Give them a role first.")
    return account


def _refuse_taken(session: Session, name: str, *, but: int | None) -> None:
    found = find_person(session, name_key=name_key(name))
    if found is not None and found.id != but:
        sentence = f"Somebody is called {found.name} already. Add what tells the two apart."
        raise NotAccepted.at("name", sentence)


def _refuse_last_head(session: Session, person: Person, account: Account) -> None:
    is_head = account.role == str(Role.HEAD) and account.disabled_at is None
    if is_head and account.password_hash and not count_usable_heads(session, but=person.id):
        raise NotAccepted.at("role", _LAST_HEAD)


def _write(
    session: Session,
    actor: Actor | None,
    now: datetime,
    what: str,
    person: Person,
    change: dict[str, JsonValue],
) -> None:
    record_change(
        session,
        actor=actor,
        now=now,
        what=what,
        subject=f"person {person.key}",
        change=change,
    )
