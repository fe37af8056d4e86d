"""Signing off a technique for somebody, and withdrawing it with a reason."""

from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.domain.sign_offs import SignOffEntry, accepted_reason, accepted_sign_off
from app.services.corrections import correct_row
from app.services.history import JsonValue, record_change
from app.store.models.people import Person
from app.store.models.sign_offs import SignOff


def sign_off(
    session: Session, *, actor: Actor, today: date, now: datetime, key: str, entry: SignOffEntry
) -> int:
    """Sign a technique off for the person with this key and return the sign-off's id.

    Raises:
        NotAccepted: the entry breaks a rule, it is signed off already, or for oneself.
        NotFound: there is nobody with this key, or they are erased.
    """
    person = _person(session, key)
    if person.id == actor.person_id:
        raise NotAccepted.at("", "Nobody signs off for themselves: another head has to do that.")
    entry = accepted_sign_off(entry, today=today)
    there = select(SignOff.id).where(
        SignOff.person_id == person.id,
        SignOff.technique == entry.technique,
        SignOff.genus == entry.genus,
        SignOff.withdrawn_at.is_(None),
    )
    if session.scalar(there) is not None:
        raise NotAccepted.at("technique", "This is signed off already: see below.")
    row = SignOff(
        person_id=person.id,
        technique=entry.technique,
        genus=entry.genus,
        signed_on=entry.signed_on,
        signed_by_id=actor.person_id,
        made_at=now,
        note=entry.note,
    )
    session.add(row)
    session.flush()
    _write(session, actor=actor, now=now, what="technique signed off", person=person, row=row)
    return row.id


def withdraw_sign_off(
    session: Session, *, actor: Actor, now: datetime, sign_off_id: int, reason: str
) -> None:
    """Withdraw a sign-off; it stays readable with the reason.

    Raises:
        NotAccepted: no reason is given, or it is withdrawn already.
        NotFound: there is no such sign-off, or its person is erased.
    """
    row = session.get(SignOff, sign_off_id)
    if row is None:
        raise NotFound("There is no such sign-off.")
    person = session.get_one(Person, row.person_id)
    if person.erased_at is not None:
        raise NotFound("What was personal of this person is erased.")
    if row.withdrawn_at is not None:
        raise NotAccepted.at("reason", "This is withdrawn already.")
    after = {
        "withdrawn_at": now,
        "withdrawn_by_id": actor.person_id,
        "withdrawn_reason": accepted_reason(reason),
    }
    correct_row(row, version=row.version, after=after)
    _write(session, actor=actor, now=now, what="sign-off withdrawn", person=person, row=row)


def _person(session: Session, key: str) -> Person:
    person = session.scalar(select(Person).where(Person.key == key, Person.erased_at.is_(None)))
    if person is None:
        raise NotFound("There is nobody with this mark in the log.")
    return person


def _write(
    session: Session, *, actor: Actor, now: datetime, what: str, person: Person, row: SignOff
) -> None:
    # Note and reason may name people, and go with the person; the history keeps neither.
    change: dict[str, JsonValue] = {
        "technique": [None, row.technique],
        "genus": [None, row.genus or "every genus"],
        "signed_on": [None, row.signed_on.isoformat()],
    }
    subject = f"person {person.key}"
    record_change(session, actor=actor, now=now, what=what, subject=subject, change=change)
