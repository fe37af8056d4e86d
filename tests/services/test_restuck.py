"""Re-sticking: what the second batch takes out of the first, in whatever order things happen."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from hypothesis.stateful import run_state_machine_as_test as run_machine
from sqlalchemy import select, text
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from app.domain.batch_moves import MoveEntry
from app.domain.outcomes import Ending
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.services.batch_moves import move_batch
from app.services.batches import correct_batch, reinstate_batch, stick_batch, void_batch
from app.services.checks import correct_check, record_check, withdraw_check
from app.services.lost_causes import load_starting_lost_causes
from app.services.verifying import verify_log
from app.store.models.batches import Batch, BatchFacts
from app.store.models.checks import Check
from app.store.queries.batch_entries import get_batch_entry
from app.store.queries.checks import get_check
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_bench, add_plant, entry
from tests.services.check_records import Stuck, check, correct, lost, said, stick


def restick(session: Session, actor: Actor, parent: Stuck, stuck: int, days: int = 0) -> Stuck:
    return stick(
        session,
        actor,
        plant=1,
        stuck=stuck,
        stuck_on=TODAY - timedelta(days=days),
        restuck_from_id=parent.id,
    )


def standing(session: Session, batch: Stuck) -> tuple[int, ...]:
    """Return rooted, lost, dumped, cleared unrooted and unrooted."""
    session.flush()
    facts = BatchFacts
    query = select(
        facts.rooted, facts.lost, facts.dumped, facts.cleared_unrooted, facts.unrooted
    ).where(facts.batch_id == batch.id)
    return tuple(session.execute(query).one())


def findings(session: Session) -> list[str]:
    session.flush()
    return [f"{found.record}: {found.sentence}" for found in verify_log(session)]


def field_of(refused: pytest.ExceptionInfo[NotAccepted]) -> str:
    return refused.value.problems[0].field


def change(session: Session, actor: Actor, batch: Stuck, **values: Any) -> None:
    stored = get_batch_entry(session, batch_id=batch.id)
    correct_batch(
        session,
        actor=actor,
        today=TODAY,
        now=NOW,
        batch_id=batch.id,
        version=session.get_one(Batch, batch.id).version,
        entry=replace(stored, **values),
    )


def test_re_stuck_ones_are_cleared_in_the_first_batch_which_goes_on(
    session: Session, head: Actor
) -> None:
    batch = stick(session, head, stuck=100)
    check(session, head, batch, said(10, 40, lost=lost(12)))
    restick(session, head, batch, 30)
    assert standing(session, batch) == (40, 12, 0, 30, 18)
    assert session.get_one(BatchFacts, batch.id).open == 1
    check(session, head, batch, said(0, 10))
    assert standing(session, batch) == (50, 12, 0, 30, 8)
    assert findings(session) == []


def test_never_more_is_re_stuck_than_stood_there(session: Session, head: Actor) -> None:
    batch = stick(session, head, stuck=100)
    check(session, head, batch, said(10, 40, lost=lost(12)))
    restick(session, head, batch, 30)
    with pytest.raises(NotAccepted) as refused:
        restick(session, head, batch, 19)
    assert field_of(refused) == "restuck_from"
    assert "only 18 stood there unrooted, so 19 cannot" in str(refused.value)
    restick(session, head, batch, 18)
    assert standing(session, batch) == (40, 12, 0, 48, 0)
    assert session.get_one(BatchFacts, batch.id).open == 0
    with pytest.raises(NotAccepted, match="rooted, lost or re-stuck by then"):
        check(session, head, batch, said(0, 1))


def test_an_earlier_day_is_held_against_later_checks(session: Session, head: Actor) -> None:
    batch = stick(session, head, stuck=100)
    check(session, head, batch, said(10, 40))
    check(session, head, batch, said(5, 50))
    with pytest.raises(NotAccepted) as refused:
        restick(session, head, batch, 11, days=8)
    assert "would no longer add up. Correct the number or the day" in str(refused.value)
    with pytest.raises(NotAccepted) as before_it:
        restick(session, head, batch, 1, days=60)
    assert "was stuck later" in str(before_it.value)
    restick(session, head, batch, 10, days=8)
    assert standing(session, batch) == (90, 0, 0, 10, 0)


def test_a_check_cannot_find_what_was_re_stuck(session: Session, head: Actor) -> None:
    batch = stick(session, head, stuck=100)
    recorded = check(session, head, batch, said(10, 40))
    restick(session, head, batch, 50, days=5)
    with pytest.raises(NotAccepted, match="50 were re-stuck from this batch; with these numbers"):
        correct(session, head, recorded, said(10, 60))
    with pytest.raises(NotAccepted, match="Rooted 40, lost 0 and re-stuck 50 leave 10 of 100"):
        check(session, head, batch, said(0, 11))
    with pytest.raises(NotAccepted, match="and 50 were re-stuck: at least so many"):
        change(session, head, batch, stuck=89)


@pytest.mark.parametrize(
    ("ending", "after"),
    [(Ending.DUMPED, (40, 0, 25, 35, 0)), (Ending.CLEARED_UNROOTED, (40, 0, 0, 60, 0))],
)
def test_those_taken_from_what_had_ended_did_not_fail(
    session: Session, head: Actor, ending: Ending, after: tuple[int, ...]
) -> None:
    batch = stick(session, head, stuck=100)
    check(session, head, batch, said(10, 40, ending=ending))
    child = restick(session, head, batch, 35, days=9)
    assert standing(session, batch) == after
    assert session.scalar(select(Check.ended)) == 25
    assert findings(session) == []
    void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=child.id, reason="twice")
    assert sum(standing(session, batch)[2:4]) == 60
    assert session.scalar(select(Check.ended)) == 60
    assert findings(session) == []


def test_what_becomes_of_the_second_batch_tells_on_the_first(session: Session, head: Actor) -> None:
    batch, other = stick(session, head, stuck=100), stick(session, head, plant=1, stuck=20)
    child = restick(session, head, batch, 30)
    change(session, head, child, stuck=25)
    assert standing(session, batch)[3:] == (25, 75)
    change(session, head, child, restuck_from_id=other.id, stuck=20)
    assert (standing(session, batch)[3:], standing(session, other)[3:]) == ((0, 100), (20, 0))
    with pytest.raises(NotAccepted, match="Only 20 were stuck in"):
        change(session, head, child, stuck=21)
    void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=child.id, reason="twice")
    assert standing(session, other)[3:] == (0, 20)
    check(session, head, other, said(0, 1))
    with pytest.raises(NotAccepted, match="so 20 cannot have been re-stuck"):
        reinstate_batch(session, actor=head, today=TODAY, now=NOW, batch_id=child.id)
    assert findings(session) == []


def test_a_check_names_only_a_batch_that_says_the_same(session: Session, head: Actor) -> None:
    batch, other = stick(session, head, stuck=100), stick(session, head, plant=1)
    child = restick(session, head, batch, 30)
    check(session, head, batch, said(0, 1, restuck_into_id=child.id))
    with pytest.raises(NotAccepted, match="does not say that it was re-stuck from"):
        check(session, head, batch, said(0, 1, restuck_into_id=other.id))
    with pytest.raises(NotAccepted, match="Correct that check first"):
        change(session, head, child, restuck_from_id=other.id)
    assert findings(session) == []


def test_a_count_of_the_same_day_knows_what_was_re_stuck_before_it(
    session: Session, head: Actor
) -> None:
    batch = stick(session, head, stuck=100)
    morning = check(session, head, batch, said(0, 40, unrooted_counted=60))
    restick(session, head, batch, 30)
    later = NOW + timedelta(hours=2)
    record_check(
        session,
        actor=head,
        today=TODAY,
        now=later,
        batch_id=batch.id,
        entry=said(0, 5, unrooted_counted=25),
    )
    assert standing(session, batch) == (45, 0, 0, 30, 25)
    # The count before it is still what was counted then: 60 were left.
    correct(session, head, morning, said(0, 40, unrooted_counted=60, note="all three trays"))
    assert standing(session, batch) == (45, 0, 0, 30, 25)


def test_the_database_itself_refuses_more_than_stood_there(session: Session, head: Actor) -> None:
    batch = stick(session, head, stuck=100)
    child = restick(session, head, batch, 100)
    session.flush()
    for statement in (
        f"UPDATE batches SET stuck = 101 WHERE id = {child.id}",
        f"UPDATE batches SET stuck = 99 WHERE id = {batch.id}",
    ):
        with pytest.raises(IntegrityError, match="counts_add_up"), session.begin_nested():
            session.execute(text(statement))


def test_verify_finds_a_number_re_stuck_behind_its_back(session: Session, head: Actor) -> None:
    batch = stick(session, head, stuck=100)
    child = restick(session, head, batch, 30)
    session.flush()
    session.execute(text(f"UPDATE batches SET stuck = 20 WHERE id = {child.id}"))
    assert "batch 26-0001: unrooted is 70; its checks and plan give 80." in findings(session)
    session.execute(text(f"UPDATE batches SET voided_at = '{NOW}' WHERE id = {batch.id}"))
    assert any("from 26-0001, which is void." in found for found in findings(session))


_DAYS = st.integers(0, 45)
_PLACES = st.integers(0, 30)


class Chain(RuleBasedStateMachine):
    """Sticking, checking, correcting, voiding, moving and re-sticking in any order."""

    session: Session
    head: Actor
    plant: int
    benches: tuple[int, int]
    done: set[str]

    @initialize(stuck=st.integers(1, 60))
    def begin(self, stuck: int) -> None:
        self.savepoint = self.session.begin_nested()
        self.batches: list[int] = []
        self.checks: list[int] = []
        self._stick(stuck, days=45, parent=None)

    def teardown(self) -> None:
        self.savepoint.rollback()
        self.session.expire_all()

    @rule(stuck=st.integers(1, 40), days=_DAYS, place=_PLACES)
    def restick(self, stuck: int, days: int, place: int) -> None:
        self._try("re-stuck", lambda: self._stick(stuck, days=days, parent=self._batch(place)))

    @rule(
        rooted=st.integers(0, 25),
        gone=st.integers(0, 10),
        days=_DAYS,
        place=_PLACES,
        ending=st.sampled_from([Ending.NONE, Ending.NONE, *Ending]),
    )
    def check(self, rooted: int, gone: int, days: int, place: int, ending: Ending) -> None:
        found = said(days, rooted, lost=lost(gone), ending=ending)

        def record() -> None:
            recorded = record_check(
                self.session, **self._who(), today=TODAY, batch_id=self._batch(place), entry=found
            )
            self.checks.append(recorded.check_id)

        self._try("checked", record)

    @precondition(lambda self: self.checks)
    @rule(rooted=st.integers(0, 25), days=_DAYS, place=_PLACES, ending=st.sampled_from(Ending))
    def correct_check(self, rooted: int, days: int, place: int, ending: Ending) -> None:
        stored = get_check(self.session, check_id=self.checks[place % len(self.checks)])
        self._try("corrected",
            lambda: correct_check(
                self.session, **self._who(), today=TODAY, check_id=stored.id,
                version=stored.version, entry=said(days, rooted, ending=ending), reason="again",
            )
        )  # fmt: skip

    @precondition(lambda self: self.checks)
    @rule(place=_PLACES)
    def withdraw(self, place: int) -> None:
        stored = get_check(self.session, check_id=self.checks[place % len(self.checks)])
        self._try(
            "withdrawn",
            lambda: withdraw_check(
                self.session, **self._who(), check_id=stored.id, version=stored.version, reason="no"
            ),
        )

    @rule(place=_PLACES, other=_PLACES, stuck=st.integers(1, 60), days=_DAYS)
    def correct(self, place: int, other: int, stuck: int, days: int) -> None:
        batch = self._batch(place)
        stored = get_batch_entry(self.session, batch_id=batch)
        parent = self._batch(other) if stored.restuck_from_id else None
        wanted = replace(
            stored, stuck=stuck, stuck_on=TODAY - timedelta(days=days), restuck_from_id=parent
        )
        version = self.session.get_one(Batch, batch).version
        self._try("batch corrected",
            lambda: correct_batch(
                self.session, **self._who(), today=TODAY, batch_id=batch, version=version,
                entry=wanted,
            )
        )  # fmt: skip

    @rule(place=_PLACES, void=st.booleans())
    def void_or_reinstate(self, place: int, void: bool) -> None:
        what: Any = void_batch if void else reinstate_batch
        more = {"reason": "twice"} if void else {}
        batch = self._batch(place)
        self._try(
            "voided", lambda: what(self.session, **self._who(), today=TODAY, batch_id=batch, **more)
        )

    @rule(place=_PLACES, to=st.integers(0, 1))
    def move(self, place: int, to: int) -> None:
        moved = MoveEntry(to_bench_id=self.benches[to], moved_on=TODAY)
        batch = self._batch(place)
        self._try(
            "moved",
            lambda: move_batch(
                self.session, **self._who(), today=TODAY, batch_id=batch, entry=moved
            ),
        )

    @invariant()
    def everything_adds_up(self) -> None:
        if not hasattr(self, "batches"):
            return
        self.session.flush()
        assert findings(self.session) == []
        for batch_id in self.batches:
            row = self.session.get_one(Batch, batch_id)
            counts = standing(self.session, Stuck(id=batch_id, code=row.code))
            assert sum(counts) == row.stuck
            assert min(counts) >= 0
            assert counts[3] >= self._taken_from(batch_id)

    def _taken_from(self, batch_id: int) -> int:
        rows = self.session.scalars(
            select(Batch.stuck).where(Batch.restuck_from_id == batch_id, Batch.voided_at.is_(None))
        )
        return sum(rows)

    def _stick(self, stuck: int, *, days: int, parent: int | None) -> None:
        on: date = TODAY - timedelta(days=days)
        wanted = entry(
            self.plant, stuck=stuck, stuck_on=on, restuck_from_id=parent, bench_id=self.benches[0]
        )
        made = stick_batch(self.session, **self._who(), today=TODAY, entry=wanted)
        self.batches.append(made.id)

    def _batch(self, place: int) -> int:
        return self.batches[place % len(self.batches)]

    def _who(self) -> dict[str, Any]:
        return {"actor": self.head, "now": NOW}

    def _try(self, name: str, what: Any) -> None:
        """Do it, or be refused with a sentence and leave nothing of it behind."""
        try:
            with self.session.begin_nested():
                what()
                self.session.flush()
            self.done.add(name)
        except NotAccepted as refusal:
            assert all(problem.sentence for problem in refusal.problems)
            self.done.add(f"{name} refused")
            self.session.expire_all()


def test_in_whatever_order_the_sums_hold_along_the_chain(session: Session, head: Actor) -> None:
    load_starting_lost_causes(session)
    plant = add_plant(session)
    places = (add_bench(session), add_bench(session, "Frame 1", 2))

    class Here(Chain):
        pass

    Here.session, Here.head, Here.plant, Here.benches = session, head, plant, places
    Here.done = set()
    run_machine(
        Here,
        settings=settings(
            max_examples=12,
            stateful_step_count=20,
            deadline=None,
            derandomize=True,
            suppress_health_check=[HealthCheck.too_slow],
        ),
    )
    assert {"re-stuck", "checked", "corrected", "batch corrected", "voided", "moved"} <= Here.done
    assert {"re-stuck refused", "checked refused", "batch corrected refused"} <= Here.done
