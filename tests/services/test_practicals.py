"""Practical sessions through the services."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.practicals import PracticalEntry, PracticalState
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotAllowed, NotFound
from app.services.batches import void_batch
from app.services.practical_batches import (
    BatchOfPerson,
    add_to_practical,
    stick_for_people,
    take_off_practical,
)
from app.services.practical_readings import (
    acknowledge_cautions,
    note_read_aloud,
    withdraw_reading,
)
from app.services.practicals import (
    PlannedPractical,
    cancel_practical,
    correct_practical,
    plan_practical,
    put_off_practical,
    reinstate_practical,
)
from app.services.verifying import verify_log
from app.store.models.batches import Batch
from app.store.models.genera import Genus
from app.store.models.history import HistoryLine
from app.store.queries.history import list_history
from app.store.queries.practical_batches import list_taken_batches
from app.store.queries.practical_cautions import get_caution_text, list_readings
from app.store.queries.practicals import (
    KnownPractical,
    find_practical_of_batch,
    get_practical,
    list_practicals_on,
)
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_container, add_plant, add_stock_plant, days_ago, entry
from tests.services.check_records import check, said, stick

TOMORROW = TODAY + timedelta(days=1)


def plan(session: Session, actor: Actor, **more: Any) -> PlannedPractical:
    values: dict[str, Any] = {"held_on": TODAY, "topic": "Semi-ripe cuttings", "people_ids": (2, 3)}
    return plan_practical(
        session, actor=actor, today=TODAY, now=NOW, entry=PracticalEntry(**values | more)
    )


def known(session: Session, made: PlannedPractical) -> KnownPractical:
    return get_practical(session, code=made.code)


def shown(session: Session, made: PlannedPractical) -> str:
    return get_caution_text(session, practical=known(session, made)).fingerprint


def for_people(*wanted: tuple[int, Any]) -> list[BatchOfPerson]:
    return [
        BatchOfPerson(person_id=person_id, entry=said_of, place=place)
        for place, (person_id, said_of) in enumerate(wanted)
    ]


def test_it_is_kept_as_planned(session: Session, head: Actor) -> None:
    container, plant = add_container(session), add_plant(session)
    made = plan(
        session,
        head,
        topic="  Semi-ripe   cuttings ",
        people_ids=(3, 2, 3),
        taught_by_id=1,
        plant_name_id=plant,
        container_id=container,
        per_head=20,
        steps=(" Choose shoots ", "", "Cut below a node"),
        tools=("knife", "1 sprayer for all"),
    )
    stored = known(session, made)
    assert (made.code, stored.entry.topic) == ("D-0001", "Semi-ripe cuttings")
    assert stored.entry.steps == ("Choose shoots", "Cut below a node")
    assert [one.name for one in stored.people] == ["Ada Marsh", "Tomas Quill"]
    assert (stored.plant, stored.container) == ("Hebe 'Great Orme'", "84-plug tray")
    assert stored.state(TODAY) is PracticalState.TODAY
    assert [one.code for one in list_practicals_on(session, day=TODAY)] == ["D-0001"]


def test_what_cannot_be_is_refused(session: Session, head: Actor) -> None:
    for more, field in (
        ({"topic": " "}, "topic"),
        ({"heads": 0}, "heads"),
        ({"per_head": 9}, "plant"),
        ({"container_id": 99}, "container"),
        ({"people_ids": (99,)}, "people"),
        ({"tools": ("12",)}, "tools"),
        ({"held_on": days_ago(1200)}, "held_on"),
    ):
        with pytest.raises(NotAccepted) as caught:
            plan(session, head, **more)
        assert [problem.field for problem in caught.value.problems] == [field]
    with pytest.raises(NotFound, match="like D-0001"):
        get_practical(session, code="D-0009")


def test_it_is_corrected_with_what_was_before(session: Session, head: Actor) -> None:
    made = plan(session, head)
    before = known(session, made)
    kept: dict[str, Any] = {"actor": head, "today": TODAY, "now": NOW, "code": made.code}
    after = replace(before.entry, topic="Leaf-bud cuttings", people_ids=(2,))
    correct_practical(session, **kept, version=before.version, entry=after)
    changed = list_history(session, subject="practical session D-0001", zone="UTC")[0]
    assert {each.field: (each.before, each.after) for each in changed.changes} == {
        "topic": ("Semi-ripe cuttings", "Leaf-bud cuttings"),
        "people": ("key-of-manager, key-of-trainee", "key-of-trainee"),
    }
    with pytest.raises(ChangedMeanwhile):
        correct_practical(session, **kept, version=before.version, entry=before.entry)


def test_the_same_saved_again_writes_nothing(session: Session, head: Actor) -> None:
    made = plan(session, head)
    before = known(session, made)
    kept: dict[str, Any] = {"actor": head, "today": TODAY, "now": NOW, "code": made.code}
    correct_practical(session, **kept, version=before.version, entry=before.entry)
    assert known(session, made).version == before.version


def test_it_is_put_off_and_cancelled_with_the_reason(session: Session, head: Actor) -> None:
    made = plan(session, head)
    kept: dict[str, Any] = {"actor": head, "now": NOW, "code": made.code}
    for to, reason in ((TODAY, "snow"), (days_ago(1), "snow"), (TOMORROW, " ")):
        with pytest.raises(NotAccepted):
            put_off_practical(session, today=TODAY, **kept, to=to, reason=reason)
    put_off_practical(session, today=TODAY, **kept, to=TOMORROW, reason=" too  soft ")
    stored = known(session, made)
    assert (stored.entry.held_on, stored.put_off_from) == (TOMORROW, TODAY)
    assert stored.put_off_reason == "too soft"
    with pytest.raises(NotAccepted, match="Say why"):
        cancel_practical(session, **kept, reason="")
    cancel_practical(session, **kept, reason="nobody can come")
    assert known(session, made).state(TODAY) is PracticalState.CANCELLED
    assert list_practicals_on(session, day=TOMORROW) == ()
    with pytest.raises(NotAccepted, match="cancelled"):
        cancel_practical(session, **kept, reason="again")
    reinstate_practical(session, **kept)
    assert known(session, made).state(TODAY) is PracticalState.AHEAD
    with pytest.raises(NotAccepted, match="not cancelled"):
        reinstate_practical(session, **kept)


def test_cautions_are_kept_as_they_were_read(session: Session, head: Actor, trainee: Actor) -> None:
    plant = add_plant(session, "Euphorbia characias")
    genus = session.scalars(select(Genus).where(Genus.name == "Euphorbia")).one()
    genus.caution = "The sap burns skin and eyes"
    made = plan(session, head, plant_name_id=plant, cautions=("The floor is wet",))
    read: dict[str, Any] = {"actor": trainee, "today": TODAY, "now": NOW, "code": made.code}
    first = shown(session, made)
    acknowledge_cautions(session, **read, fingerprint=first)
    with pytest.raises(NotAccepted, match="already"):
        acknowledge_cautions(session, **read, fingerprint=first)
    genus.caution = "The sap burns: wear goggles"
    session.flush()
    with pytest.raises(NotAccepted, match="changed meanwhile"):
        acknowledge_cautions(session, **read, fingerprint=first)
    stored = known(session, made)
    text = get_caution_text(session, practical=stored)
    (reading,) = list_readings(session, practical=stored, now_reads=text)
    assert "The sap burns skin and eyes" in reading.text
    assert "The floor is wet" in reading.text
    assert "follow the product label" in reading.text.lower()
    assert (reading.person, reading.read_on, reading.aloud) == ("Tomas Quill", TODAY, False)
    assert not reading.is_current
    acknowledge_cautions(session, **read, fingerprint=text.fingerprint)
    assert len(list_readings(session, practical=stored, now_reads=text)) == 2
    assert list(verify_log(session)) == []


def test_no_caution_recorded_is_never_read_as_safe(session: Session, head: Actor) -> None:
    made = plan(session, head, plant_name_id=add_plant(session, "Zelkova serrata"))
    said_of = get_caution_text(session, practical=known(session, made)).text
    assert "Zelkova: no caution recorded" in said_of


def test_the_head_notes_who_heard_them_read_aloud(
    session: Session, head: Actor, trainee: Actor
) -> None:
    made = plan(session, head)
    kept: dict[str, Any] = {"actor": head, "today": TODAY, "now": NOW, "code": made.code}
    text = shown(session, made)
    acknowledge_cautions(session, **kept | {"actor": trainee}, fingerprint=text)
    for people in ((), (1,)):
        with pytest.raises(NotAccepted):
            note_read_aloud(session, **kept, fingerprint=text, people_ids=people)
    assert note_read_aloud(session, **kept, fingerprint=text, people_ids=(2, 3)) == 1
    stored = known(session, made)
    now_reads = get_caution_text(session, practical=stored)
    readings = list_readings(session, practical=stored, now_reads=now_reads)
    assert [(one.person, one.aloud) for one in readings] == [
        ("Ada Marsh", True),
        ("Tomas Quill", False),
    ]
    back: dict[str, Any] = {"actor": head, "now": NOW, "code": made.code}
    withdraw_reading(session, **back, reading_id=readings[0].id)
    assert len(list_readings(session, practical=stored, now_reads=now_reads)) == 1
    with pytest.raises(NotAccepted, match="already"):
        withdraw_reading(session, **back, reading_id=readings[0].id)
    with pytest.raises(NotFound):
        withdraw_reading(session, **back, reading_id=99)


def test_who_does_not_take_part_acknowledges_nothing(session: Session, head: Actor) -> None:
    made = plan(session, head)
    with pytest.raises(NotAccepted, match="not among those"):
        acknowledge_cautions(
            session,
            actor=head,
            today=TODAY,
            now=NOW,
            code=made.code,
            fingerprint=shown(session, made),
        )


def test_a_batch_is_stuck_for_each(session: Session, head: Actor) -> None:
    made, plant = plan(session, head), add_plant(session)
    stuck = stick_for_people(
        session,
        actor=head,
        today=TODAY,
        now=NOW,
        code=made.code,
        wanted=for_people((2, entry(plant, stuck=20)), (3, entry(plant, stuck=14))),
    )
    assert [one.code for one in stuck] == ["26-0001", "26-0002"]
    taken = list_taken_batches(session, practical_id=made.id)
    assert [(one.code, one.person, one.standing.stuck) for one in taken] == [
        ("26-0001", "Tomas Quill", 20),
        ("26-0002", "Ada Marsh", 14),
    ]
    belongs = find_practical_of_batch(session, batch_id=stuck[0].id)
    assert belongs is not None
    assert (belongs.code, belongs.batches) == ("D-0001", 2)
    kept: dict[str, Any] = {"actor": head, "now": NOW, "code": made.code, "reason": "snow"}
    with pytest.raises(NotAccepted, match="took place"):
        put_off_practical(session, today=TODAY, to=TOMORROW, **kept)
    with pytest.raises(NotAccepted, match="took place"):
        cancel_practical(session, **kept)


def test_all_or_none_with_each_problem_by_its_line(session: Session, head: Actor) -> None:
    made, plant = plan(session, head), add_plant(session)
    resting = add_stock_plant(session, plant, state="discarded")
    assert resting
    kept: dict[str, Any] = {"actor": head, "today": TODAY, "now": NOW, "code": made.code}
    wanted = for_people((2, entry(plant, stuck=20)), (3, entry(plant, stuck=0, cover="x" * 3)))
    with pytest.raises(NotAccepted) as caught:
        stick_for_people(session, **kept, wanted=wanted)
    assert {problem.field for problem in caught.value.problems} == {"people-1-stuck"}
    with pytest.raises(NotAccepted, match="at least one"):
        stick_for_people(session, **kept, wanted=[])
    with pytest.raises(NotAccepted, match="does not take part"):
        stick_for_people(session, **kept, wanted=for_people((1, entry(plant))))
    early = for_people((2, entry(plant, stuck_on=days_ago(1))))
    with pytest.raises(NotAccepted, match="nothing of it can be stuck before"):
        stick_for_people(session, **kept, wanted=early)


def test_an_own_batch_is_added_and_taken_off(session: Session, head: Actor, trainee: Actor) -> None:
    made = plan(session, head, held_on=days_ago(50))
    other = plan(session, head, held_on=days_ago(50))
    own = stick(session, trainee, stuck_by_id=2)
    cistus = add_plant(session, "Cistus albidus")
    foreign = stick(session, head, plant=cistus, stuck_by_id=1, stuck_on=days_ago(41))
    add: dict[str, Any] = {"actor": trainee, "now": NOW, "code": made.code}
    assert add_to_practical(session, **add, batch_code=" 26/1 ") == own.code
    for batch_code, says in ((own.code, "belongs to D-0001 already"), ("26-0099", "no batch")):
        with pytest.raises(NotAccepted, match=says):
            add_to_practical(session, **add | {"code": other.code}, batch_code=batch_code)
    with pytest.raises(NotAllowed, match="own batches"):
        add_to_practical(session, **add, batch_code=foreign.code)
    with pytest.raises(NotFound, match="does not belong"):
        take_off_practical(session, **add | {"code": other.code}, batch_code=own.code)
    assert take_off_practical(session, **add, batch_code=own.code) == own.code
    assert list_taken_batches(session, practical_id=made.id) == ()
    void = {"today": TODAY, "now": NOW, "batch_id": own.id, "reason": "twice"}
    void_batch(session, actor=trainee, **void)  # type: ignore[arg-type]
    with pytest.raises(NotAccepted, match="void"):
        add_to_practical(session, **add, batch_code=own.code)


def test_its_day_is_not_put_after_its_batches(session: Session, head: Actor) -> None:
    made = plan(session, head, held_on=days_ago(42))
    batch = stick(session, head)
    add_to_practical(session, actor=head, now=NOW, code=made.code, batch_code=batch.code)
    stored = known(session, made)
    with pytest.raises(NotAccepted, match="held by then"):
        correct_practical(
            session,
            actor=head,
            today=TODAY,
            now=NOW,
            code=made.code,
            version=stored.version,
            entry=replace(stored.entry, held_on=days_ago(41)),
        )


def test_no_name_enters_the_history(session: Session, head: Actor, trainee: Actor) -> None:
    made = plan(session, head)
    read: dict[str, Any] = {"today": TODAY, "now": NOW, "code": made.code}
    acknowledge_cautions(session, actor=trainee, **read, fingerprint=shown(session, made))
    text = " ".join(session.scalars(select(HistoryLine.change)))
    assert "key-of-trainee" in text
    assert "Tomas" not in text


def test_what_does_not_agree_is_found(session: Session, head: Actor, trainee: Actor) -> None:
    made = plan(session, head, held_on=days_ago(42))
    other = plan(session, head)
    read: dict[str, Any] = {"actor": trainee, "today": TODAY, "now": NOW, "code": made.code}
    acknowledge_cautions(session, **read, fingerprint=shown(session, made))
    batch = stick(session, head)
    check(session, head, batch, said(7, rooted=3))
    add_to_practical(session, actor=head, now=NOW, code=made.code, batch_code=batch.code)
    assert list(verify_log(session)) == []
    connection = session.connection()
    for statement, says in (
        ("UPDATE practicals SET cancelled_at = made_at", f"batch {batch.code} belongs to it"),
        (f"UPDATE practical_readings SET practical_id = {other.id}", "of another session"),
        ("UPDATE practical_texts SET text = 'safe'", "not those that were read"),
    ):
        with session.begin_nested() as nested:
            connection.exec_driver_sql("DROP TRIGGER IF EXISTS practical_texts_no_update")
            connection.exec_driver_sql(statement)
            assert says in " ".join(found.sentence for found in verify_log(session))
            nested.rollback()
    assert session.get(Batch, batch.id) is not None
