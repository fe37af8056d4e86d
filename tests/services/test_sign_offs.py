"""A technique is signed off by the head, withdrawn with a reason, and never gone."""

import json
from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.domain.sign_offs import SignOffEntry
from app.services.people import erase_person
from app.services.sign_offs import sign_off, withdraw_sign_off
from app.store.models.history import HistoryLine
from app.store.models.sign_offs import SignOff
from app.store.queries.training_records import get_sign_off, get_training_record
from tests.conftest import NOW, TODAY

SOFT = SignOffEntry(technique="softwood", signed_on=TODAY - timedelta(days=2), note="ten in a row")


def signed(session: Session, head: Actor, trainee: Actor, entry: SignOffEntry = SOFT) -> int:
    return sign_off(session, actor=head, today=TODAY, now=NOW, key=trainee.person_key, entry=entry)


def test_it_stands_on_the_record_with_day_and_note(
    session: Session, head: Actor, trainee: Actor
) -> None:
    signed(session, head, trainee)
    (known,) = get_training_record(session, person_id=trainee.person_id).sign_offs
    assert (known.words, known.note, known.signed_on) == (
        "softwood",
        "ten in a row",
        SOFT.signed_on,
    )
    assert known.signed_by == head.name
    assert known.withdrawn_at is None


def test_the_history_holds_keys_and_neither_note_nor_name(
    session: Session, head: Actor, trainee: Actor
) -> None:
    signed(session, head, trainee)
    line = session.scalars(select(HistoryLine).order_by(HistoryLine.sequence.desc())).first()
    assert line is not None
    assert (line.what, line.subject) == ("technique signed off", f"person {trainee.person_key}")
    assert json.loads(line.change) == {
        "technique": [None, "softwood"],
        "genus": [None, "every genus"],
        "signed_on": [None, SOFT.signed_on.isoformat()],
    }


def test_the_same_is_not_signed_off_twice_while_it_holds(
    session: Session, head: Actor, trainee: Actor
) -> None:
    first = signed(session, head, trainee)
    with pytest.raises(NotAccepted, match="signed off already"):
        signed(session, head, trainee)
    signed(
        session, head, trainee, SignOffEntry(technique="softwood", genus="Hebe", signed_on=TODAY)
    )
    withdraw_sign_off(session, actor=head, now=NOW, sign_off_id=first, reason="to be seen again")
    signed(session, head, trainee)
    record = get_training_record(session, person_id=trainee.person_id)
    assert [(each.words, each.withdrawn_reason) for each in record.sign_offs] == [
        ("softwood", "to be seen again"),
        ("softwood", ""),
        ("softwood, Hebe", ""),
    ]


def test_withdrawing_wants_a_reason_and_happens_once(
    session: Session, head: Actor, trainee: Actor
) -> None:
    number = signed(session, head, trainee)
    with pytest.raises(NotAccepted, match="Say why"):
        withdraw_sign_off(session, actor=head, now=NOW, sign_off_id=number, reason=" ")
    withdraw_sign_off(session, actor=head, now=NOW, sign_off_id=number, reason="unsafe knife")
    with pytest.raises(NotAccepted, match="already"):
        withdraw_sign_off(session, actor=head, now=NOW, sign_off_id=number, reason="again")
    assert get_sign_off(session, sign_off_id=number)[1].withdrawn_by == head.name
    with pytest.raises(NotFound):
        withdraw_sign_off(session, actor=head, now=NOW, sign_off_id=99, reason="what")


def test_nobody_signs_off_for_themselves_or_for_nobody(session: Session, head: Actor) -> None:
    with pytest.raises(NotAccepted, match="for themselves"):
        signed(session, head, head)
    with pytest.raises(NotFound):
        sign_off(session, actor=head, today=TODAY, now=NOW, key="no-such-person", entry=SOFT)


def test_words_about_a_person_go_when_the_person_is_erased(
    session: Session, head: Actor, trainee: Actor
) -> None:
    number = signed(session, head, trainee)
    erase_person(session, actor=head, now=NOW, key=trainee.person_key)
    session.expire_all()
    assert session.get_one(SignOff, number).note == ""
    with pytest.raises(NotFound):
        get_sign_off(session, sign_off_id=number)
    with pytest.raises(NotFound):
        withdraw_sign_off(session, actor=head, now=NOW, sign_off_id=number, reason="late")
