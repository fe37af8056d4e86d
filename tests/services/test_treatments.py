"""Treatments: what they reach, the re-entry times they set, and withdrawing them."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from shutil import copyfile
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy.orm import Session

from app.domain.batch_moves import MoveEntry
from app.domain.outcomes import Ending
from app.domain.people import Actor, Role
from app.domain.problems import NotAccepted, NotAllowed
from app.domain.treatments import TreatmentEntry, TreatmentKind
from app.services.batch_moves import move_batch
from app.services.batches import StuckBatch, stick_batch
from app.services.lost_causes import load_starting_lost_causes
from app.services.stock_plant_stays import stand_stock_plant
from app.services.treatments import RecordedTreatment, record_treatment, withdraw_treatment
from app.services.verifying import verify_log
from app.store.models.stock_plants import StockPlant
from app.store.queries.treatments import (
    get_reached,
    get_treatment,
    list_running,
    list_treatments_of_batch,
    list_treatments_of_stock_plant,
    list_treatments_on_bench,
)
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_bench, add_plant, add_stock_plant, days_ago, entry
from tests.services.check_records import Stuck, check, said


@pytest.fixture
def benches(session: Session) -> tuple[int, int]:
    return add_bench(session, "Mist bench 2"), add_bench(session, "Weaning bench", 2)


@pytest.fixture
def plant(session: Session) -> int:
    return add_plant(session)


@pytest.fixture
def stuck(session: Session, head: Actor, plant: int, benches: tuple[int, int]) -> StuckBatch:
    said = entry(plant, bench_id=benches[0], stuck_on=days_ago(20))
    return stick_batch(session, actor=head, today=TODAY, now=NOW, entry=said)


def spray(session: Session, actor: Actor, **more: Any) -> RecordedTreatment:
    said = TreatmentEntry(
        **{"kind": TreatmentKind.FEED, "what": "Liquid feed", "begun_at": NOW} | more
    )
    return record_treatment(session, actor=actor, now=NOW, zone="UTC", entry=said)


def withdraw(
    session: Session, actor: Actor, made: RecordedTreatment, reason: str = "bench"
) -> None:
    withdraw_treatment(
        session, actor=actor, today=TODAY, now=NOW, treatment_id=made.id, reason=reason
    )


def codes_of(session: Session, stuck: StuckBatch) -> list[str]:
    return [one.code for one in list_treatments_of_batch(session, batch_id=stuck.id)]


def test_it_reaches_what_stood_there_on_its_day(
    session: Session, head: Actor, stuck: StuckBatch, benches: tuple[int, int]
) -> None:
    mist, weaning = benches
    moved = MoveEntry(to_bench_id=weaning, moved_on=days_ago(5))
    move_batch(session, actor=head, today=TODAY, now=NOW, batch_id=stuck.id, entry=moved)
    days = {"before": 21, "there": 10, "moving": 5, "gone": 4}
    at = {
        name: spray(session, head, begun_at=NOW - timedelta(days=days[name]), bench_ids=(mist,))
        for name in days
    }
    elsewhere = spray(session, head, bench_ids=(weaning,))
    assert set(codes_of(session, stuck)) == {at["there"].code, at["moving"].code, elsewhere.code}
    named = spray(session, head, batch_ids=(stuck.id,))
    assert codes_of(session, stuck)[0] == named.code
    reached = get_reached(session, treatment=get_treatment(session, code=named.code))
    assert [(one.code, one.chosen) for one in reached.batches] == [(stuck.code, True)]
    on_bench = list_treatments_on_bench(session, bench_id=mist)
    assert [one.code for one in on_bench] == [
        at[name].code for name in ("gone", "moving", "there", "before")
    ]


def test_a_batch_of_which_nothing_is_left_is_reached_no_more(
    session: Session, head: Actor, stuck: StuckBatch, benches: tuple[int, int]
) -> None:
    load_starting_lost_causes(session)
    ended = Stuck(id=stuck.id, code=stuck.code)
    check(session, head, ended, said(7, rooted=40, ending=Ending.DUMPED))
    days = {"before": 8, "that day": 7, "after": 6}
    made = {
        name: spray(session, head, begun_at=NOW - timedelta(days=ago), bench_ids=benches)
        for name, ago in days.items()
    }
    assert codes_of(session, stuck) == [made["that day"].code, made["before"].code]
    reached = {
        name: get_reached(session, treatment=get_treatment(session, code=one.code)).batches
        for name, one in made.items()
    }
    assert {name: len(batches) for name, batches in reached.items()} == {
        "before": 1, "that day": 1, "after": 0,
    }  # fmt: skip


def test_a_withdrawn_one_stays_readable_and_reaches_nothing(
    session: Session, head: Actor, stuck: StuckBatch, benches: tuple[int, int]
) -> None:
    until = NOW + timedelta(hours=4)
    made = spray(session, head, bench_ids=benches, reentry_at=until)
    assert [one.code for one in list_running(session, now=NOW)] == [made.code]
    assert list_running(session, now=until) == ()
    withdraw(session, head, made, "  wrong   bench ")
    assert codes_of(session, stuck) == []
    assert list_running(session, now=NOW) == ()
    known = get_treatment(session, code="t1")
    assert (known.withdraw_reason, known.where) == ("wrong bench", "Mist bench 2, Weaning bench")
    with pytest.raises(NotAccepted, match="withdrawn already"):
        withdraw(session, head, made)


def test_who_may_withdraw(
    session: Session, head: Actor, trainee: Actor, benches: tuple[int, int]
) -> None:
    of_head = spray(session, head, bench_ids=benches)
    of_trainee = spray(session, trainee, bench_ids=benches)
    with pytest.raises(NotAllowed, match="Ask the head"):
        withdraw(session, trainee, of_head)
    with pytest.raises(NotAccepted, match="Say why"):
        withdraw(session, trainee, of_trainee, " ")
    withdraw(session, trainee, of_trainee)
    withdraw(session, head, of_head)


def test_places_that_cannot_be_are_refused(
    session: Session, head: Actor, stuck: StuckBatch, benches: tuple[int, int]
) -> None:
    before = NOW - timedelta(days=30)
    for more, field in (
        ({"bench_ids": (99,)}, "benches"),
        ({"batch_ids": (99,)}, "batches"),
        ({"stock_plant_ids": (99,)}, "stock_plants"),
        ({"batch_ids": (stuck.id,), "begun_at": before}, "batches"),
    ):
        with pytest.raises(NotAccepted) as caught:
            spray(session, head, **more)
        assert [problem.field for problem in caught.value.problems] == [field]


def test_the_later_re_entry_time_wins_and_comes_back(
    session: Session, head: Actor, plant: int, benches: tuple[int, int]
) -> None:
    own = NOW + timedelta(hours=1)
    plant_id = add_stock_plant(session, plant, reentry_at=own)
    stand_stock_plant(session, stock_plant_id=plant_id, bench_id=benches[0], from_on=days_ago(9))
    row = session.get_one(StockPlant, plant_id)
    early = spray(session, head, stock_plant_ids=(plant_id,), reentry_at=NOW)
    assert row.reentry_at == own
    late = spray(session, head, bench_ids=(benches[0],), reentry_at=NOW + timedelta(hours=9))
    middle = spray(session, head, bench_ids=(benches[0],), reentry_at=NOW + timedelta(hours=5))
    assert row.reentry_at == NOW + timedelta(hours=9)
    told = list_treatments_of_stock_plant(session, stock_plant_id=plant_id)
    assert {one.code for one in told} == {early.code, late.code, middle.code}
    withdraw(session, head, late)
    assert row.reentry_at == NOW + timedelta(hours=5)
    withdraw(session, head, middle)
    withdraw(session, head, early)
    assert row.reentry_at == own
    assert list(verify_log(session)) == []


def test_a_time_set_by_hand_since_stays(session: Session, head: Actor, plant: int) -> None:
    plant_id = add_stock_plant(session, plant)
    row = session.get_one(StockPlant, plant_id)
    made = spray(session, head, stock_plant_ids=(plant_id,), reentry_at=NOW + timedelta(hours=9))
    row.reentry_at = NOW + timedelta(hours=2)
    session.flush()
    withdraw(session, head, made)
    assert row.reentry_at == NOW + timedelta(hours=2)


STEP = st.one_of(
    st.tuples(st.just("treat"), st.integers(0, 9)),
    st.tuples(st.just("withdraw"), st.integers(0, 3)),
    st.tuples(st.just("by hand"), st.integers(0, 9)),
)


@given(steps=st.lists(STEP, max_size=8))
@settings(max_examples=25, deadline=None)
def test_in_any_order_the_latest_that_holds_is_set(
    steps: list[tuple[str, int]], database_of_steps: tuple[Database, Actor]
) -> None:
    database, actor = database_of_steps
    session = database.open_session(write=True)
    plant_id = add_stock_plant(session, add_plant(session))
    row = session.get_one(StockPlant, plant_id)
    own: datetime | None = None
    holding: dict[int, tuple[RecordedTreatment, datetime]] = {}
    made: list[RecordedTreatment] = []
    for what, number in steps:
        at = NOW + timedelta(hours=number)
        if what == "treat":
            made.append(spray(session, actor, stock_plant_ids=(plant_id,), reentry_at=at))
            holding[made[-1].id] = (made[-1], at)
        elif what == "by hand":
            if at != row.reentry_at:
                row.reentry_at, own, holding = at, at, {}
                session.flush()
        elif number < len(made):
            gone = made.pop(number)
            withdraw(session, actor, gone)
            holding.pop(gone.id, None)
        times = [at for at in (own, *(at for _, at in holding.values())) if at is not None]
        assert row.reentry_at == max(times, default=None)
    assert list(verify_log(session)) == []
    session.close()


@pytest.fixture(scope="module")
def database_of_steps(
    migrated_file: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Database, Actor]]:
    """One database for all examples, each rolled back."""
    path = tmp_path_factory.mktemp("steps") / "strikewell.db"
    copyfile(migrated_file, path)
    database = Database(path)
    yield database, Actor(person_id=1, person_key="key-of-head", name="Ines", role=Role.HEAD)
    database.close()


def test_what_does_not_agree_is_found(session: Session, head: Actor, plant: int) -> None:
    plant_id = add_stock_plant(session, plant)
    spray(session, head, stock_plant_ids=(plant_id,), reentry_at=NOW + timedelta(hours=9))
    assert list(verify_log(session)) == []
    connection = session.connection()
    for statement, says in (
        ("UPDATE stock_plant_reentries SET set_at = NULL", "its treatments give"),
        ("UPDATE treatments SET begun_on = '2026-01-01'", "its time gives another"),
        ("UPDATE treatments SET withdrawn_at = begun_at", "still holds 1 stock plants"),
    ):
        with session.begin_nested() as nested:
            connection.exec_driver_sql(statement)
            assert says in " ".join(found.sentence for found in verify_log(session))
            nested.rollback()
