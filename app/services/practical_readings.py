"""The cautions of a practical session: acknowledging them, reading them aloud, taking that back."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.practical_cautions import CautionText
from app.domain.problems import NotAccepted, NotFound
from app.services.history import JsonValue, record_change
from app.store.models.people import Person
from app.store.models.practicals import PracticalReading, PracticalText
from app.store.queries.practical_cautions import get_caution_text
from app.store.queries.practicals import KnownPractical, get_practical

_SHOWN: Final = 12
"""How much of a fingerprint the history shows: enough to tell texts apart, and to be read."""


def acknowledge_cautions(
    session: Session, *, actor: Actor, today: date, now: datetime, code: str, fingerprint: str
) -> None:
    """Write down that whoever acts has read the cautions; `fingerprint` is of what was shown.

    Raises:
        NotAccepted: they do not take part, the session is cancelled, the text is another by now,
            or they have read it already.
        NotFound: there is no such session.
    """
    known = _open(session, code)
    if not known.takes_part(actor.person_id):
        raise NotAccepted.at("", f"You are not among those who take part in {known.code}.")
    text = _as_shown(session, known, fingerprint)
    if _has_read(session, known, actor.person_id, text):
        raise NotAccepted.at("", "You have read this text already.")
    _keep(session, actor=actor, today=today, now=now, known=known, text=text, people=[actor])


def note_read_aloud(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    code: str,
    fingerprint: str,
    people_ids: Iterable[int],
) -> int:
    """Write down that the cautions were read aloud to some people, and return to how many.

    Those who have read or heard this very text already are left out.

    Raises:
        NotAccepted: nobody is named or somebody who does not take part, the session is cancelled,
            or the text is another by now.
        NotFound: there is no such session.
    """
    known = _open(session, code)
    heard = sorted(set(people_ids))
    if not heard:
        raise NotAccepted.at("people", "Tick those who heard it.")
    if not all(known.takes_part(person_id) for person_id in heard):
        raise NotAccepted.at("people", "Choose only those who take part.")
    text = _as_shown(session, known, fingerprint)
    missing = [each for each in heard if not _has_read(session, known, each, text)]
    people = [session.get_one(Person, person_id) for person_id in missing]
    _keep(session, actor=actor, today=today, now=now, known=known, text=text, people=people)
    return len(people)


def withdraw_reading(
    session: Session, *, actor: Actor, now: datetime, code: str, reading_id: int
) -> None:
    """Take back that somebody read the cautions, where that was noted by mistake.

    Raises:
        NotAccepted: it is taken back already.
        NotFound: there is no such session, or no such reading of it.
    """
    known = get_practical(session, code=code)
    row = session.get(PracticalReading, reading_id)
    if row is None or row.practical_id != known.id:
        raise NotFound("There is no such entry of cautions read.")
    if row.withdrawn_at is not None:
        raise NotAccepted.at("", "This is taken back already.")
    row.withdrawn_at, row.withdrawn_by_id = now, actor.person_id
    session.flush()
    key = session.get_one(Person, row.person_id).key
    change: dict[str, JsonValue] = {"person": [key, None]}
    _write(
        session, actor=actor, now=now, what="cautions not read after all", known=known, of=change
    )


def _open(session: Session, code: str) -> KnownPractical:
    known = get_practical(session, code=code)
    if known.cancelled:
        raise NotAccepted.at("", f"{known.code} is cancelled.")
    return known


def _as_shown(session: Session, known: KnownPractical, fingerprint: str) -> CautionText:
    text = get_caution_text(session, practical=known)
    if text.fingerprint != fingerprint:
        raise NotAccepted.at("", "The cautions changed meanwhile: read them again as they are now.")
    return text


def _has_read(session: Session, known: KnownPractical, person_id: int, text: CautionText) -> bool:
    query = (
        select(PracticalReading.id)
        .join(PracticalText, PracticalText.id == PracticalReading.text_id)
        .where(
            PracticalReading.practical_id == known.id,
            PracticalReading.person_id == person_id,
            PracticalReading.withdrawn_at.is_(None),
            PracticalText.fingerprint == text.fingerprint,
        )
    )
    return session.scalar(query) is not None


def _keep(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    known: KnownPractical,
    text: CautionText,
    people: Iterable[Actor | Person],
) -> None:
    for person in people:
        person_id = person.person_id if isinstance(person, Actor) else person.id
        key = person.person_key if isinstance(person, Actor) else person.key
        aloud = person_id != actor.person_id
        row = PracticalReading(
            practical_id=known.id,
            person_id=person_id,
            text_id=_text_id(session, known, text),
            read_on=today,
            aloud=int(aloud),
            recorded_at=now,
            recorded_by_id=actor.person_id,
        )
        session.add(row)
        session.flush()
        what = "cautions read aloud" if aloud else "cautions read"
        change: dict[str, JsonValue] = {
            "person": [None, key],
            "text": [None, text.fingerprint[:_SHOWN]],
        }
        _write(session, actor=actor, now=now, what=what, known=known, of=change)


def _text_id(session: Session, known: KnownPractical, text: CautionText) -> int:
    query = select(PracticalText.id).where(
        PracticalText.practical_id == known.id, PracticalText.fingerprint == text.fingerprint
    )
    found = session.scalar(query)
    if found is not None:
        return found
    row = PracticalText(practical_id=known.id, fingerprint=text.fingerprint, text=text.text)
    session.add(row)
    session.flush()
    return row.id


def _write(
    session: Session,
    *,
    actor: Actor,
    now: datetime,
    what: str,
    known: KnownPractical,
    of: dict[str, JsonValue],
) -> None:
    subject = f"practical session {known.code}"
    record_change(session, actor=actor, now=now, what=what, subject=subject, change=of)
