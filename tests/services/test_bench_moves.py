"""All of a bench moved at once, batches put in their order, and what stood where on any day."""

from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, timedelta
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
from app.domain.problems import NotAccepted, NotFound
from app.services.batch_moves import MoveMade, move_batch, undo_move
from app.services.batches import StuckBatch, correct_batch, stick_batch
from app.services.bench_moves import BenchMoved, move_bench, undo_bench_move
from app.services.bench_places import place_on_bench
from app.services.verifying import verify_log
from app.store.models.benches import Bench
from app.store.queries.batch_entries import get_batch_entry
from app.store.queries.bench_batches import list_standing_batches
from app.store.queries.bench_stands import get_bench_load, list_house, list_stood
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_bench, add_plant, days_ago, entry
from tests.services.check_records import Stuck, check, said

NAMES = ("Mist bench 2", "Weaning bench", "Cold frame A")


@pytest.fixture
def benches(session: Session) -> tuple[int, ...]:
    return tuple(add_bench(session, name, at) for at, name in enumerate(NAMES, start=1))


@pytest.fixture
def stuck(session: Session, head: Actor, benches: tuple[int, ...]) -> list[StuckBatch]:
    plant = add_plant(session)
    return [
        stick_batch(
            session, actor=head, today=TODAY, now=NOW,
            entry=entry(plant, bench_id=benches[0], stuck_on=days_ago(20), stuck=500,
                        trays=5, per_tray=100, gaps=0),
        )
        for _ in range(3)
    ]  # fmt: skip


def move_all(session: Session, actor: Actor, bench: int, to: int | None, **more: Any) -> BenchMoved:
    kept: dict[str, Any] = {"moved_on": TODAY} | more
    return move_bench(
        session, actor=actor, today=TODAY, now=NOW, bench_id=bench, to_bench_id=to, **kept
    )


def codes_on(session: Session, bench: int, on: date = TODAY) -> list[str]:
    return [one.code for one in list_stood(session, on=on, today=TODAY, bench_id=bench)]


def test_all_of_a_bench_moves_but_what_stays(
    session: Session, trainee: Actor, stuck: list[StuckBatch], benches: tuple[int, ...]
) -> None:
    first, second, third = (batch.code for batch in stuck)
    moved = move_all(
        session, trainee, benches[0], benches[1],
        moved_on=days_ago(4), except_batch_ids={stuck[1].id},
    )  # fmt: skip
    assert moved.codes == (first, third)
    assert codes_on(session, benches[0]) == [second]
    assert codes_on(session, benches[1]) == [first, third]
    assert codes_on(session, benches[0], days_ago(5)) == [first, second, third]
    assert codes_on(session, benches[1], days_ago(4)) == [first, third]
    assert codes_on(session, benches[0], days_ago(21)) == []
    assert undo_bench_move(session, actor=trainee, now=NOW, key=moved.key) == 2
    assert codes_on(session, benches[0]) == [first, second, third]
    with pytest.raises(NotAccepted, match="taken back already"):
        undo_bench_move(session, actor=trainee, now=NOW, key=moved.key)
    assert list(verify_log(session)) == []


def test_only_what_stands_here_goes_along(
    session: Session, head: Actor, stuck: list[StuckBatch], benches: tuple[int, ...]
) -> None:
    part = MoveEntry(to_bench_id=benches[2], moved_on=days_ago(9), trays=2)
    move_batch(session, actor=head, today=TODAY, now=NOW, batch_id=stuck[0].id, entry=part)
    off = move_all(session, head, benches[0], None)
    assert codes_on(session, benches[2]) == [stuck[0].code]
    assert get_bench_load(session, bench_id=benches[2], on=TODAY).trays == 2
    undo_bench_move(session, actor=head, now=NOW, key=off.key)
    assert get_bench_load(session, bench_id=benches[0], on=TODAY).trays == 13


def test_what_was_moved_again_is_not_taken_back(
    session: Session, head: Actor, stuck: list[StuckBatch], benches: tuple[int, ...]
) -> None:
    moved = move_all(session, head, benches[0], benches[1])
    on = MoveEntry(to_bench_id=benches[2], moved_on=TODAY)
    move_batch(session, actor=head, today=TODAY, now=NOW, batch_id=stuck[1].id, entry=on)
    with pytest.raises(NotAccepted, match=stuck[1].code), session.begin_nested():
        undo_bench_move(session, actor=head, now=NOW, key=moved.key)
    assert codes_on(session, benches[1]) == [stuck[0].code, stuck[2].code]
    with pytest.raises(NotFound):
        undo_bench_move(session, actor=head, now=NOW, key="no such move")


@pytest.mark.parametrize(
    ("more", "field_", "says"),
    [
        ({"moved_on": TODAY + timedelta(days=1)}, "moved_on", "still to come"),
        ({"moved_on": days_ago(21)}, "moved_on", "came here after"),
        ({"to": 0}, "bench", "stand there already"),
        ({"to": 99}, "bench", "in use"),
        ({"except_batch_ids": {1, 2, 3}}, "", "No batch is left"),
    ],
)
def test_a_move_that_cannot_be_is_refused(
    session: Session, head: Actor, stuck: list[StuckBatch], benches: tuple[int, ...],
    more: dict[str, Any], field_: str, says: str,
) -> None:  # fmt: skip
    kept = dict(more)
    to = kept.pop("to", 1)
    with pytest.raises(NotAccepted) as caught:
        move_all(session, head, benches[0], benches[to] if to < 3 else to, **kept)
    (problem,) = caught.value.problems
    assert problem.field == field_
    assert says in problem.sentence
    assert len(codes_on(session, benches[0])) == len(stuck)


def test_batches_stand_in_the_order_they_are_put(
    session: Session, trainee: Actor, stuck: list[StuckBatch], benches: tuple[int, ...]
) -> None:
    kept: dict[str, Any] = {"session": session, "actor": trainee, "now": NOW}
    first, second, third = stuck
    assert place_on_bench(**kept, bench_id=benches[0], batch_id=third.id, place=1) == 3
    order = [third.code, first.code, second.code]
    assert codes_on(session, benches[0]) == order
    standing = list_standing_batches(session, bench_id=benches[0])
    assert [one.code for one in standing] == order
    assert place_on_bench(**kept, bench_id=benches[0], batch_id=third.id, place=99) == 1
    assert codes_on(session, benches[0]) == [first.code, second.code, third.code]
    with pytest.raises(NotFound, match="does not stand on Weaning bench"):
        place_on_bench(**kept, bench_id=benches[1], batch_id=third.id, place=1)


def test_the_house_on_a_day(
    session: Session, head: Actor, stuck: list[StuckBatch], benches: tuple[int, ...]
) -> None:
    session.get_one(Bench, benches[0]).capacity_trays = 12
    plant = add_plant(session, "Cistus × purpureus")
    loose = entry(plant, bench_id=benches[0], stuck_on=days_ago(3))
    stick_batch(session, actor=head, today=TODAY, now=NOW, entry=loose)
    ended = Stuck(id=stuck[0].id, code=stuck[0].code)
    check(session, head, ended, said(2, rooted=30, ending=Ending.DUMPED))
    today, before = (list_house(session, on=on, today=TODAY) for on in (TODAY, days_ago(3)))
    assert [one.bench.name for one in today] == list(NAMES)
    assert (today[0].load.trays, today[0].load.uncounted, today[0].load.is_over) == (10, 1, False)
    assert (before[0].load.trays, before[0].load.is_over) == (15, True)
    # Emptied on the day of its last count: from that day on it stands no more.
    emptied_on = codes_on(session, benches[0], days_ago(2))
    assert stuck[0].code not in emptied_on
    assert stuck[0].code in codes_on(session, benches[0], days_ago(3))


def test_fewer_trays_than_were_moved_about_are_refused(
    session: Session, head: Actor, stuck: list[StuckBatch], benches: tuple[int, ...]
) -> None:
    part = MoveEntry(to_bench_id=benches[2], moved_on=days_ago(9), trays=2)
    move_batch(session, actor=head, today=TODAY, now=NOW, batch_id=stuck[0].id, entry=part)
    stored = get_batch_entry(session, batch_id=stuck[0].id)
    fewer = {"trays": 4, "stuck": 400}
    said_now = entry(
        **{name: getattr(stored, name) for name in stored.__dataclass_fields__} | fewer
    )
    with pytest.raises(NotAccepted, match="5 trays of it were moved about"):
        correct_batch(
            session, actor=head, today=TODAY, now=NOW, batch_id=stuck[0].id, version=1,
            entry=said_now,
        )  # fmt: skip


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE bench_stays SET trays = 4 WHERE id = 4", "of its trays stand on benches"),
        ("UPDATE bench_stays SET trays = NULL WHERE id = 4", "whole on one bench and also"),
        ("UPDATE bench_stays SET to_on = NULL WHERE id = 1", "whole on one bench and also"),
    ],
)
def test_a_broken_stay_is_found(
    session: Session, head: Actor, stuck: list[StuckBatch], benches: tuple[int, ...],
    statement: str, says: str,
) -> None:  # fmt: skip
    part = MoveEntry(to_bench_id=benches[2], moved_on=days_ago(9), trays=2)
    move_batch(session, actor=head, today=TODAY, now=NOW, batch_id=stuck[0].id, entry=part)
    assert list(verify_log(session)) == []
    session.connection().exec_driver_sql(statement)
    (found,) = verify_log(session)
    assert found.record == f"batch {stuck[0].code}"
    assert says in found.sentence


Placed = Counter[int]
Step = tuple[str, int, int, int, int]
STEPS = st.lists(
    st.tuples(
        st.sampled_from(("whole", "part", "bench", "undo")),
        st.integers(0, 1),
        st.integers(0, 3),
        st.integers(1, 4),
        st.integers(0, 1),
    ),
    max_size=9,
)


@dataclass
class House:
    """Two batches of five trays moved about, and by day where their trays ought to stand."""

    session: Session
    actor: Actor
    benches: tuple[int, ...]
    batches: list[StuckBatch]
    day: date
    done: list[tuple[date, list[Placed], BenchMoved | tuple[int, MoveMade]]] = field(
        default_factory=list
    )

    def placed(self, on: date) -> list[Placed]:
        now = [Counter({self.benches[0]: 5}) for _ in self.batches]
        for moved_on, placed, _ in self.done:
            if moved_on <= on:
                now = placed
        return [Counter(one) for one in now]

    def step(self, step: Step) -> None:
        what, which, to, trays, days = step
        self.day += timedelta(days=days)
        bench = self.benches[to] if to < len(self.benches) else None
        with suppress(NotAccepted), self.session.begin_nested():
            # What cannot be is refused and changes nothing: the days at the end tell.
            if what == "undo":
                self.undo()
            elif what == "bench":
                self.bench(self.benches[which], bench)
            else:
                self.batch(which, bench, trays if what == "part" else None)

    def batch(self, which: int, bench: int | None, trays: int | None) -> None:
        placed = self.placed(self.day)
        here = placed[which]
        origin = min((one for one in here if here[one]), default=None)
        move = MoveEntry(
            to_bench_id=bench,
            moved_on=self.day,
            trays=trays,
            from_bench_id=origin if trays else None,
        )
        batch_id = self.batches[which].id
        made = move_batch(
            self.session, actor=self.actor, today=TODAY, now=NOW, batch_id=batch_id, entry=move
        )
        if trays is None:
            placed[which] = Counter({bench: 5} if bench else {})
        else:
            here[origin or 0] -= trays
            if bench:
                here[bench] += trays
        self.done.append((self.day, placed, (batch_id, made)))

    def bench(self, origin: int, bench: int | None) -> None:
        placed = self.placed(self.day)
        made = move_all(self.session, self.actor, origin, bench, moved_on=self.day)
        for here in placed:
            if bench:
                here[bench] += here[origin]
            here[origin] = 0
        self.done.append((self.day, placed, made))

    def undo(self) -> None:
        if self.done:
            _, _, made = self.done[-1]
            if isinstance(made, BenchMoved):
                undo_bench_move(self.session, actor=self.actor, now=NOW, key=made.key)
            else:
                undo_move(self.session, actor=self.actor, now=NOW, batch_id=made[0], made=made[1])
            self.done.pop()

    def stood(self, on: date) -> list[Placed]:
        found: list[Placed] = [Counter() for _ in self.batches]
        ids = [batch.id for batch in self.batches]
        for one in list_stood(self.session, on=on, today=TODAY):
            found[ids.index(one.batch_id)][one.bench_id] += one.trays or 0
        return found


@pytest.fixture(scope="module")
def shared(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Database]:
    """One database for all examples, each rolled back."""
    path = tmp_path_factory.mktemp("house") / "strikewell.db"
    copyfile(migrated_file, path)
    database = Database(path)
    yield database
    database.close()


@given(steps=STEPS)
@settings(max_examples=40, deadline=None)
def test_in_any_order_of_moves_the_trays_add_up_on_every_day(
    shared: Database, steps: list[Step]
) -> None:
    actor = Actor(person_id=1, person_key="key-of-head", name="Ines Farrow", role=Role.HEAD)
    session = shared.open_session(write=True)
    benches = tuple(add_bench(session, name, at) for at, name in enumerate(NAMES, start=1))
    said_of = entry(
        add_plant(session), bench_id=benches[0], stuck_on=days_ago(19), stuck=500,
        trays=5, per_tray=100, gaps=0,
    )  # fmt: skip
    batches = [
        stick_batch(session, actor=actor, today=TODAY, now=NOW, entry=said_of) for _ in range(2)
    ]
    house = House(session=session, actor=actor, benches=benches, batches=batches, day=days_ago(18))
    for step in steps:
        house.step(step)
    for days in range(20):
        assert house.stood(days_ago(days)) == house.placed(days_ago(days))
    assert list(verify_log(session)) == []
    session.close()
