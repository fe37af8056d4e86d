"""Plant passports are issued word for word, never changed, voided and issued again."""

from datetime import timedelta

import pytest
from sqlalchemy import delete, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from app.domain.holds import HoldEntry
from app.domain.lines import Member, MemberKind
from app.domain.people import Actor
from app.domain.plant_passports import PassportEntry, PassportSettings, Territory
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotFound
from app.services.batches import void_batch
from app.services.holds import place_hold
from app.services.plant_passports import (
    IssuedPassport,
    issue_passport,
    set_passport_settings,
    void_passport,
)
from app.store.models.plant_passports import PlantPassport
from app.store.queries.hold_finds import list_touched
from app.store.queries.plant_passports import (
    get_passport,
    get_passport_settings,
    list_passports,
)
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant
from tests.services.check_records import Stuck, stick

GB = PassportSettings(territory=Territory.GB, operator_number="12345")


@pytest.fixture
def batch(session: Session, head: Actor) -> Stuck:
    set_passport_settings(session, actor=head, now=NOW, version=1, settings=GB)
    return stick(session, head, plant=add_plant(session))


def issue(
    session: Session, actor: Actor, batch: Stuck, *, replaces_id: int | None = None
) -> IssuedPassport:
    entry = PassportEntry(
        plant="Hebe 'Great Orme'",
        traceability_code=batch.code,
        origin="GB",
        plants=120,
        labels=3,
        blank_reason="none",
    )
    return issue_passport(
        session,
        actor=actor,
        today=TODAY,
        now=NOW,
        batch_id=batch.id,
        entry=entry,
        replaces_id=replaces_id,
    )


def test_it_stands_as_it_was_issued_whatever_changes_later(
    session: Session, head: Actor, batch: Stuck
) -> None:
    issued = issue(session, head, batch)
    other = PassportSettings(territory=Territory.EU, operator_number="9", member_state="FR")
    _, version = get_passport_settings(session)
    set_passport_settings(session, actor=head, now=NOW, version=version, settings=other)
    known = get_passport(session, code=issued.code)
    assert (known.content.title, known.content.b) == ("UK Plant Passport", "12345")
    assert (known.plants, known.labels, known.blank_reason) == (120, 3, "")
    assert (known.issued_on, known.issued_by, known.batch) == (TODAY, head.name, batch.code)


@pytest.mark.parametrize(
    "change", [{"a": "another name"}, {"plants": 2}, {"issued_on": TODAY - timedelta(days=1)}]
)
def test_the_database_itself_refuses_to_change_one(
    session: Session, head: Actor, batch: Stuck, change: dict[str, object]
) -> None:
    issued = issue(session, head, batch)
    with pytest.raises(IntegrityError, match="never changed"):
        session.execute(update(PlantPassport).where(PlantPassport.id == issued.id).values(**change))


def test_nothing_issued_is_deleted(session: Session, head: Actor, batch: Stuck) -> None:
    issue(session, head, batch)
    with pytest.raises(IntegrityError, match="never deleted"):
        session.execute(delete(PlantPassport))


def test_a_wrong_one_is_voided_once_and_issued_again(
    session: Session, head: Actor, batch: Stuck
) -> None:
    first = issue(session, head, batch)
    with pytest.raises(NotAccepted, match="void that one first"):
        issue(session, head, batch, replaces_id=first.id)
    void_passport(session, actor=head, now=NOW, passport_id=first.id, reason="wrong number")
    with pytest.raises(NotAccepted, match="void already"):
        void_passport(session, actor=head, now=NOW, passport_id=first.id, reason="again")
    again = issue(session, head, batch, replaces_id=first.id)
    old = get_passport(session, code="p1")
    assert (old.void_reason, old.voided_by, old.replaced_by) == (
        "wrong number", head.name, again.code,
    )  # fmt: skip
    assert get_passport(session, code=again.code).replaces == first.code
    session.expire_all()
    with pytest.raises(IntegrityError, match="never changed"):
        session.execute(
            update(PlantPassport)
            .where(PlantPassport.id == first.id)
            .values(void_reason="a better story")
        )


def test_none_is_issued_for_what_is_void_or_on_hold(
    session: Session, head: Actor, batch: Stuck
) -> None:
    void = stick(session, head, plant=1)
    void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=void.id, reason="twice")
    with pytest.raises(NotAccepted, match="is void"):
        issue(session, head, void)
    suspect = Member(kind=MemberKind.BATCH, id=batch.id)
    entry = HoldEntry(suspect=suspect, suspected="spots")
    touched = list_touched(session, suspect=suspect)
    place_hold(session, actor=head, today=TODAY, now=NOW, entry=entry, touched=touched)
    with pytest.raises(NotAccepted, match="is on hold"):
        issue(session, head, batch)
    assert list_passports(session) == ()
    with pytest.raises(NotFound):
        issue(session, head, Stuck(id=99, code="26-0099"))


def test_passports_are_off_at_first(session: Session, head: Actor) -> None:
    batch = stick(session, head, plant=add_plant(session))
    with pytest.raises(NotAccepted, match="Passports are off"):
        issue(session, head, batch)


def test_two_editors_of_the_settings_are_told_of_each_other(
    session: Session, head: Actor, batch: Stuck
) -> None:
    changed = PassportSettings(territory=Territory.GB, operator_number="54321")
    with pytest.raises(ChangedMeanwhile):
        set_passport_settings(session, actor=head, now=NOW, version=1, settings=changed)
    assert get_passport_settings(session)[0] == GB
    with pytest.raises(NotFound, match="no plant passport P-0009"):
        get_passport(session, code="P-0009")
