"""Moving batches from bench to bench."""

from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.batch_moves import MoveEntry
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.services.batch_moves import MoveMade, move_batch, undo_move
from app.services.batches import StuckBatch, stick_batch, void_batch
from app.store.models.benches import BenchStay
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_bench, add_plant, days_ago, entry

Stays = list[tuple[int, int | None, date, date | None]]


@pytest.fixture
def benches(session: Session) -> tuple[int, int, int]:
    names = ("Mist bench 2", "Weaning bench", "Cold frame A")
    first, second, third = (add_bench(session, name) for name in names)
    return first, second, third


@pytest.fixture
def stuck(session: Session, head: Actor, benches: tuple[int, int, int]) -> StuckBatch:
    said = entry(
        add_plant(session), bench_id=benches[0], stuck_on=days_ago(20), stuck=500,
        trays=5, per_tray=100, gaps=0,
    )  # fmt: skip
    return stick_batch(session, actor=head, today=TODAY, now=NOW, entry=said)


def move(
    session: Session, actor: Actor, stuck: StuckBatch, to: int | None, **more: Any
) -> MoveMade:
    said = MoveEntry(to_bench_id=to, **({"moved_on": TODAY} | more))
    return move_batch(session, actor=actor, today=TODAY, now=NOW, batch_id=stuck.id, entry=said)


def stays(session: Session) -> Stays:
    session.flush()
    columns = (BenchStay.bench_id, BenchStay.trays, BenchStay.from_on, BenchStay.to_on)
    rows = session.execute(select(*columns).order_by(BenchStay.id))
    return [(row.bench_id, row.trays, row.from_on, row.to_on) for row in rows]


def test_a_batch_moves_whole(
    session: Session, trainee: Actor, stuck: StuckBatch, benches: tuple[int, int, int]
) -> None:
    mist, weaning, _ = benches
    move(session, trainee, stuck, weaning, moved_on=days_ago(2))
    assert stays(session) == [
        (mist, None, days_ago(20), days_ago(2)),
        (weaning, None, days_ago(2), None),
    ]


def test_some_trays_move_and_the_others_stay(
    session: Session, trainee: Actor, stuck: StuckBatch, benches: tuple[int, int, int]
) -> None:
    mist, weaning, frame = benches
    move(session, trainee, stuck, weaning, trays=2, moved_on=days_ago(3))
    current = [stay[:2] for stay in stays(session) if stay[3] is None]
    assert current == [(mist, 3), (weaning, 2)]
    with pytest.raises(NotAccepted, match="Choose the bench from which"):
        move(session, trainee, stuck, frame, trays=1)
    move(session, trainee, stuck, frame, trays=1, from_bench_id=mist)
    current = [stay[:2] for stay in stays(session) if stay[3] is None]
    assert current == [(weaning, 2), (mist, 2), (frame, 1)]
    move(session, trainee, stuck, None)
    assert [stay for stay in stays(session) if stay[3] is None] == []


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"moved_on": TODAY + timedelta(days=1)}, "moved_on", "still to come"),
        ({"moved_on": days_ago(21)}, "moved_on", "It stands there since"),
        ({"trays": 5}, "trays", "give from 1 to 4"),
        ({"trays": 0}, "trays", "give from 1 to 4"),
        ({"to": 0}, "bench", "stands on Mist bench 2 already"),
    ],
)
def test_a_move_that_cannot_be_is_refused_by_its_field(
    session: Session, head: Actor, stuck: StuckBatch, benches: tuple[int, int, int],
    changes: dict[str, Any], field: str, says: str,
) -> None:  # fmt: skip
    more = dict(changes)
    to = benches[more.pop("to", 1)]
    with pytest.raises(NotAccepted) as caught:
        move(session, head, stuck, to, **more)
    (problem,) = caught.value.problems
    assert problem.field == field
    assert says in problem.sentence
    assert len(stays(session)) == 1


def test_a_batch_of_unknown_trays_moves_whole_only(
    session: Session, head: Actor, benches: tuple[int, int, int]
) -> None:
    said = entry(add_plant(session), bench_id=benches[0])
    loose = stick_batch(session, actor=head, today=TODAY, now=NOW, entry=said)
    with pytest.raises(NotAccepted, match="is not recorded"):
        move(session, head, loose, benches[1], trays=1)
    move(session, head, loose, benches[1])
    assert stays(session)[-1] == (benches[1], None, TODAY, None)


def test_a_batch_without_a_bench_is_put_on_one(session: Session, head: Actor) -> None:
    said = entry(add_plant(session), stuck_on=days_ago(3))
    loose = stick_batch(session, actor=head, today=TODAY, now=NOW, entry=said)
    with pytest.raises(NotAccepted, match="stands on no bench"):
        move(session, head, loose, None)
    with pytest.raises(NotAccepted, match="put the whole batch"):
        move(session, head, loose, 1, trays=1)
    bench = add_bench(session)
    move(session, head, loose, bench)
    assert stays(session) == [(bench, None, TODAY, None)]


def test_the_last_move_is_taken_back_exactly(
    session: Session, head: Actor, stuck: StuckBatch, benches: tuple[int, int, int]
) -> None:
    before = stays(session)
    first = move(session, head, stuck, benches[1])
    second = move(session, head, stuck, benches[2], moved_on=TODAY)
    with pytest.raises(NotAccepted, match="moved again since"):
        undo_move(session, actor=head, now=NOW, batch_id=stuck.id, made=first)
    undo_move(session, actor=head, now=NOW, batch_id=stuck.id, made=second)
    undo_move(session, actor=head, now=NOW, batch_id=stuck.id, made=first)
    assert stays(session) == before
    partial = move(session, head, stuck, benches[1], trays=2)
    undo_move(session, actor=head, now=NOW, batch_id=stuck.id, made=partial)
    assert stays(session) == before
    off = move(session, head, stuck, None)
    undo_move(session, actor=head, now=NOW, batch_id=stuck.id, made=off)
    assert stays(session) == before


def test_stays_of_another_batch_are_not_taken_back(
    session: Session, head: Actor, stuck: StuckBatch, benches: tuple[int, int, int]
) -> None:
    made = move(session, head, stuck, benches[1])
    other = stick_batch(
        session, actor=head, today=TODAY, now=NOW, entry=entry(1, bench_id=benches[0])
    )
    before = stays(session)
    with pytest.raises(NotAccepted):
        undo_move(session, actor=head, now=NOW, batch_id=other.id, made=made)
    assert stays(session) == before


def test_a_void_batch_is_not_moved(
    session: Session, head: Actor, stuck: StuckBatch, benches: tuple[int, int, int]
) -> None:
    void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=stuck.id, reason="twice")
    with pytest.raises(NotAccepted, match="is void"):
        move(session, head, stuck, benches[1])
