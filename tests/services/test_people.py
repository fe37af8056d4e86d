"""People as the services keep them."""

import pytest
from sqlalchemy import select, text
from sqlalchemy.orm import Session

from app.domain.people import ERASED_NAME, Actor, Role
from app.domain.problems import ChangedMeanwhile, FieldChange, NotAccepted, NotFound
from app.services.people import (
    PersonEntry,
    add_person,
    correct_person,
    erase_person,
    keep_person,
    let_in_again,
    set_password,
    shut_out,
)
from app.services.sign_in import begin_session, token_hash
from app.store.models.history import HistoryLine
from app.store.models.people import Person
from app.store.queries.accounts import find_open_session, list_sign_in_names
from app.store.queries.people import (
    find_person,
    get_person,
    list_people,
    list_person_names,
)
from tests.conftest import NOW


def _history(session: Session) -> list[tuple[str, str, str]]:
    lines = session.scalars(select(HistoryLine).order_by(HistoryLine.sequence))
    return [(line.what, line.subject, line.change) for line in lines]


def test_a_person_gets_a_lasting_random_mark(session: Session, head: Actor) -> None:
    keys = {
        add_person(session, actor=head, now=NOW, entry=PersonEntry(name=f"Person {number}"))
        for number in range(3)
    }
    assert len(keys) == 3
    assert all(len(key) == 16 for key in keys)
    assert _history(session)[0][0] == "person added"
    assert _history(session)[0][2] == "{}"


def test_keeping_a_person_adds_each_name_once(session: Session, head: Actor) -> None:
    first = keep_person(session, actor=head, now=NOW, name="Rhea Holm")
    assert keep_person(session, actor=head, now=NOW, name=" rhea  HOLM") == first
    known = keep_person(session, actor=head, now=NOW, name="ines farrow")
    assert known == head.person_id
    assert len(_history(session)) == 1


def test_a_stale_version_is_told_what_differs(session: Session, head: Actor) -> None:
    correct_person(
        session,
        actor=head,
        now=NOW,
        key="key-of-trainee",
        version=1,
        entry=PersonEntry(name="Tomas Quillon", role=Role.TRAINEE),
    )
    with pytest.raises(ChangedMeanwhile) as told:
        correct_person(
            session,
            actor=head,
            now=NOW,
            key="key-of-trainee",
            version=1,
            entry=PersonEntry(name="Tom Quill", role=Role.MANAGER),
        )
    assert told.value.version == 2
    assert told.value.changes == (
        FieldChange(field="name", now="Tomas Quillon", wanted="Tom Quill"),
        FieldChange(field="here for", now="trainee", wanted="manager"),
    )


def test_a_changed_role_is_a_new_version_of_the_person(session: Session, head: Actor) -> None:
    entry = PersonEntry(name="Tomas Quill", role=Role.HEAD)
    correct_person(session, actor=head, now=NOW, key="key-of-trainee", version=1, entry=entry)
    assert get_person(session, key="key-of-trainee").version == 2
    assert get_person(session, key="key-of-trainee").role is Role.HEAD


def test_saving_what_is_already_so_changes_nothing(session: Session, head: Actor) -> None:
    entry = PersonEntry(name="Tomas Quill", role=Role.TRAINEE)
    correct_person(session, actor=head, now=NOW, key="key-of-trainee", version=1, entry=entry)
    assert get_person(session, key="key-of-trainee").version == 1
    assert _history(session) == []


def test_shutting_out_ends_every_session(session: Session, head: Actor) -> None:
    token = begin_session(session, account_id=2, now=NOW)
    shut_out(session, actor=head, now=NOW, key="key-of-trainee")
    let_in_again(session, actor=head, now=NOW, key="key-of-trainee")
    assert find_open_session(session, token_hash=token_hash(token), now=NOW) is None
    assert [line[0] for line in _history(session)] == ["account disabled", "account enabled"]


def test_a_second_head_may_replace_the_first(session: Session, head: Actor) -> None:
    entry = PersonEntry(name="Ada Marsh", role=Role.HEAD)
    correct_person(session, actor=head, now=NOW, key="key-of-manager", version=1, entry=entry)
    shut_out(session, actor=head, now=NOW, key="key-of-head")
    with pytest.raises(NotAccepted, match="only head"):
        shut_out(session, actor=head, now=NOW, key="key-of-manager")


def test_who_is_shut_out_is_not_offered_for_new_records(session: Session, head: Actor) -> None:
    keep_person(session, actor=head, now=NOW, name="Rhea Holm")
    shut_out(session, actor=head, now=NOW, key="key-of-trainee")
    names = [person.name for person in list_person_names(session)]
    assert names == ["Ada Marsh", "Ines Farrow", "Rhea Holm"]
    assert list_sign_in_names(session) == ("Ada Marsh", "Ines Farrow")
    assert "Tomas Quill" in [person.name for person in list_people(session)]


def test_erasing_leaves_the_mark_alone(session: Session, head: Actor) -> None:
    erase_person(session, actor=head, now=NOW, key="key-of-trainee")
    person = get_person(session, key="key-of-trainee")
    assert (person.name, person.notes, person.erased) == (ERASED_NAME, "", True)
    assert not person.signs_in
    assert find_person(session, name_key="tomas quill") is None
    for change in (shut_out, let_in_again, erase_person):
        with pytest.raises(NotFound):
            change(session, actor=head, now=NOW, key="key-of-trainee")
    # Two erased people do not get in each other's way.
    erase_person(session, actor=head, now=NOW, key="key-of-manager")


def test_a_person_cannot_be_deleted(session: Session) -> None:
    person = session.get_one(Person, 2)
    session.delete(person)
    with pytest.raises(Exception, match="never deleted"):
        session.flush()


def test_no_password_for_somebody_shut_out(session: Session, head: Actor) -> None:
    shut_out(session, actor=head, now=NOW, key="key-of-trainee")
    with pytest.raises(NotFound):
        set_password(session, now=NOW, account_id=2, password_hash="x")


def test_no_name_comes_into_the_history(session: Session, head: Actor) -> None:
    add_person(session, actor=head, now=NOW, entry=PersonEntry(name="Rhea Holm", notes="tall"))
    entry = PersonEntry(name="Tom Quill", role=Role.MANAGER, notes="short")
    correct_person(session, actor=head, now=NOW, key="key-of-trainee", version=1, entry=entry)
    erase_person(session, actor=head, now=NOW, key="key-of-trainee")
    session.flush()
    lines = session.execute(text("SELECT what || subject || change || actor_key FROM history"))
    written = " ".join(lines.scalars())
    for personal in ("Rhea", "Quill", "tall", "short", "Ines"):
        assert personal not in written
