"""Everything that happens to cuttings, in any order: the sums hold after each step.

A machine of Hypothesis sticks, checks, corrects, takes back, re-sticks, moves trays, voids and
reinstates, pots up, splits, merges, loses, withdraws. After each step every sum is worked out again
by hand from the rows, and `strikewell verify` finds nothing.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from hypothesis.stateful import run_state_machine_as_test as run_machine
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.batch_moves import MoveEntry
from app.domain.liner_entries import StageEntry
from app.domain.liner_stages import Stage
from app.domain.outcomes import Ending
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.services.batch_moves import move_batch
from app.services.batches import correct_batch, reinstate_batch, stick_batch, void_batch
from app.services.checks import correct_check, record_check, undo_check, withdraw_check
from app.services.liner_lots import merge_lots, pot_up, record_stage, split_lot
from app.services.liner_moves import move_lot
from app.services.liner_stages import correct_stage, record_batch_stage, withdraw_stages
from app.services.lost_causes import load_starting_lost_causes
from app.store.models.batches import Batch, BatchFacts
from app.store.models.benches import BenchStay
from app.store.models.checks import CheckVersion
from app.store.models.history import HistoryLine
from app.store.models.liner_lots import LinerFacts, LinerLot, LinerLotFacts, LinerStage
from app.store.models.stock_plants import StockPlant
from app.store.queries.batch_entries import get_batch_entry
from app.store.queries.checks import get_check
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_bench, add_plant, entry
from tests.services.check_records import lost, said
from tests.services.liner_records import cause, findings, stage

_DAYS = st.integers(0, 40)
_LATE = st.integers(0, 12)
_PLACES = st.integers(0, 30)
_OF_LOTS = st.sampled_from(
    [
        Stage.PINCHED, Stage.POTTED_ON, Stage.WINTERED, Stage.LOOKED_AT,
        Stage.READY, Stage.READY, Stage.SENT_OUT, Stage.KEPT,
    ]
)  # fmt: skip
_COUNTED = (LinerStage, LinerLot, CheckVersion, HistoryLine, BenchStay, Batch, StockPlant)


class Unit(RuleBasedStateMachine):
    """A small unit with batches of one plant, and everybody entering things."""

    session: Session
    head: Actor
    plant: int
    benches: tuple[int, int]
    done: set[str]

    @initialize(rooted=st.tuples(st.integers(8, 30), st.integers(8, 30)), ready=st.booleans())
    def begin(self, rooted: tuple[int, int], ready: bool) -> None:
        self.savepoint = self.session.begin_nested()
        self.batches: list[int] = []
        self.checks: list[int] = []
        self.versions: dict[int, int] = {}
        self.cause = cause(self.session)
        for number in rooted:
            self._stick(40, days=40, parent=None)
            self._check(self.batches[-1], said(30, number))
            self._check(self.batches[-1], said(5, 3))
            self._pot(self.batches[-1], number // 2, days=20)
            if ready:
                done = stage(Stage.READY, 10)
                record_stage(self.session, **self._who(), lot_id=self._lot(-1), entry=done)

    def teardown(self) -> None:
        self.savepoint.rollback()
        self.session.expire_all()

    @rule(stuck=st.integers(1, 20), days=_DAYS, place=_PLACES)
    def restick(self, stuck: int, days: int, place: int) -> None:
        self._try("re-stuck", lambda: self._stick(stuck, days=days, parent=self._batch(place)))

    @rule(
        rooted=st.integers(0, 15),
        gone=st.integers(0, 6),
        days=_DAYS,
        place=_PLACES,
        ending=st.sampled_from([Ending.NONE, Ending.NONE, *Ending]),
    )
    def check(self, rooted: int, gone: int, days: int, place: int, ending: Ending) -> None:
        found = said(days, rooted, lost=lost(gone), ending=ending)
        self._try("checked", lambda: self._check(self._batch(place), found))

    @rule(rooted=st.integers(0, 30), days=_DAYS, place=_PLACES)
    def correct_check(self, rooted: int, days: int, place: int) -> None:
        stored = get_check(self.session, check_id=self.checks[place % len(self.checks)])

        def correct() -> None:
            found = correct_check(
                self.session, **self._who(), check_id=stored.id, version=stored.version,
                entry=said(days, rooted), reason="again",
            )  # fmt: skip
            self.versions[stored.id] = found.version

        self._try("check corrected", correct)

    @rule(place=_PLACES)
    def withdraw_check(self, place: int) -> None:
        stored = get_check(self.session, check_id=self.checks[place % len(self.checks)])
        kept = {"actor": self.head, "now": NOW, "check_id": stored.id, "version": stored.version}
        self._try("check withdrawn", lambda: withdraw_check(self.session, **kept, reason="no"))

    @rule(place=_PLACES)
    def undo_check(self, place: int) -> None:
        stored = get_check(self.session, check_id=self.checks[place % len(self.checks)])
        kept = {"actor": self.head, "now": NOW, "check_id": stored.id, "version": stored.version}
        self._try("check undone", lambda: undo_check(self.session, **kept))

    @rule(place=_PLACES, more=st.integers(-9, 9), days=_DAYS, trays=st.none() | st.integers(1, 4))
    def correct_batch(self, place: int, more: int, days: int, trays: int | None) -> None:
        batch = self._batch(place)
        stored = get_batch_entry(self.session, batch_id=batch)
        # Near what is stored, so that some of them are taken: earlier by days, or later by one.
        on = min(stored.stuck_on - timedelta(days=days % 4 - 1), TODAY)
        wanted = replace(stored, stuck=max(1, stored.stuck + more), stuck_on=on, trays=trays)
        version = self.session.get_one(Batch, batch).version
        self._try(
            "batch corrected",
            lambda: correct_batch(
                self.session, **self._who(), batch_id=batch, version=version, entry=wanted
            ),
        )

    @rule(place=_PLACES, void=st.booleans())
    def void_or_reinstate(self, place: int, void: bool) -> None:
        what: Any = void_batch if void else reinstate_batch
        more = {"reason": "twice"} if void else {}
        name = "voided" if void else "reinstated"
        batch = self._batch(place)
        self._try(name, lambda: what(self.session, **self._who(), batch_id=batch, **more))

    @rule(place=_PLACES, to=st.integers(0, 1), trays=st.none() | st.integers(1, 3))
    def move_batch(self, place: int, to: int, trays: int | None) -> None:
        moved = MoveEntry(to_bench_id=self.benches[to], moved_on=TODAY, trays=trays)
        batch = self._batch(place)
        self._try(
            "batch moved",
            lambda: move_batch(self.session, **self._who(), batch_id=batch, entry=moved),
        )

    @rule(place=_PLACES, number=st.integers(1, 15), days=_LATE)
    def pot_up(self, place: int, number: int, days: int) -> None:
        self._try("potted up", lambda: self._pot(self._batch(place), number, days=days))

    @rule(place=_PLACES, number=st.none() | st.integers(1, 6), days=_LATE)
    def before_potting_up(self, place: int, number: int | None, days: int) -> None:
        said_of = stage(Stage.WEANING, days)
        if number is not None:
            said_of = stage(Stage.LOST, days, number=number, cause_id=self.cause)
        batch = self._batch(place)
        self._try(
            "lost before" if number else "weaned",
            lambda: record_batch_stage(self.session, **self._who(), batch_id=batch, entry=said_of),
        )

    @rule(place=_PLACES, what=_OF_LOTS, number=st.integers(1, 12), days=_LATE, whole=st.booleans())
    def stage_of_lot(self, place: int, what: Stage, number: int, days: int, whole: bool) -> None:
        some = what.counts or not whole
        said_of = stage(what, days, number=number if some else None)
        lot = self._lot(place)
        self._try(
            what.value,
            lambda: record_stage(self.session, **self._who(), lot_id=lot, entry=said_of),
        )

    @rule(place=_PLACES, number=st.integers(1, 6), days=_LATE, graded=st.booleans())
    def lose_or_grade_out(self, place: int, number: int, days: int, graded: bool) -> None:
        said_of = stage(Stage.LOST, days, number=number, cause_id=self.cause)
        if graded:
            said_of = stage(Stage.GRADED_OUT, days, number=number, grade="small")
        lot = self._lot(place)
        self._try(
            said_of.stage.value,
            lambda: record_stage(self.session, **self._who(), lot_id=lot, entry=said_of),
        )

    @rule(place=_PLACES, number=st.integers(1, 12), days=_LATE)
    def split(self, place: int, number: int, days: int) -> None:
        said_of, lot = stage(Stage.SPLIT, days, number=number), self._lot(place)
        self._try(
            "split", lambda: split_lot(self.session, **self._who(), lot_id=lot, entry=said_of)
        )

    @rule(first=_PLACES, second=_PLACES, days=st.integers(0, 10))
    def merge(self, first: int, second: int, days: int) -> None:
        lots = (self._lot(first), self._lot(second))
        said_of = stage(Stage.MERGED, days)
        self._try(
            "merged", lambda: merge_lots(self.session, **self._who(), lot_ids=lots, entry=said_of)
        )

    @precondition(lambda self: self._ready_lots())
    @rule(days=st.integers(0, 4))
    def merge_ready(self, days: int) -> None:
        lots, said_of = self._ready_lots()[:3], stage(Stage.MERGED, days)
        self._try(
            "merged", lambda: merge_lots(self.session, **self._who(), lot_ids=lots, entry=said_of)
        )

    @rule(place=_PLACES)
    def withdraw_stage(self, place: int) -> None:
        ids = [self._stage(place).id]
        self._try(
            "stage withdrawn",
            lambda: withdraw_stages(self.session, **self._who(), stage_ids=ids, reason="no"),
        )

    @rule(place=_PLACES, number=st.integers(1, 20), days=_LATE)
    def correct_stage(self, place: int, number: int, days: int) -> None:
        row = self._stage(place)
        wanted = StageEntry(
            stage=Stage(row.stage),
            on=TODAY - timedelta(days=days),
            number=None if row.number is None else number,
            cause_id=row.lost_cause_id,
            grade=row.grade,
        )
        self._try(
            "stage corrected",
            lambda: correct_stage(
                self.session, **self._who(), stage_id=row.id, entry=wanted, reason="again"
            ),
        )

    @rule(place=_PLACES, to=st.integers(0, 1))
    def move_lot(self, place: int, to: int) -> None:
        moved = MoveEntry(to_bench_id=self.benches[to], moved_on=TODAY)
        lot = self._lot(place)
        self._try(
            "lot moved", lambda: move_lot(self.session, **self._who(), lot_id=lot, entry=moved)
        )

    @invariant()
    def everything_adds_up(self) -> None:
        if not hasattr(self, "batches"):
            return
        self.session.flush()
        self.session.expire_all()
        assert findings(self.session) == []
        for batch_id in self.batches:
            self._batch_adds_up(batch_id)
        for lot in self.session.scalars(select(LinerLot)):
            self._lot_adds_up(lot)

    def _batch_adds_up(self, batch_id: int) -> None:
        facts = self.session.get_one(BatchFacts, batch_id)
        gone = facts.lost + facts.dumped + facts.cleared_unrooted
        assert facts.rooted + gone + facts.unrooted == facts.stuck
        after = self.session.get(LinerFacts, batch_id)
        taken = self._sum(LinerStage.batch_id == batch_id)
        assert (after.taken if after else 0) == taken <= facts.rooted
        lots = select(LinerLot.id).where(LinerLot.batch_id == batch_id)
        there = self.session.scalar(
            select(func.coalesce(func.sum(LinerLotFacts.number), 0)).where(
                LinerLotFacts.liner_lot_id.in_(lots)
            )
        )
        left = LinerStage.liner_lot_id.in_(lots) & (LinerStage.stage != Stage.SPLIT)
        before = (LinerStage.batch_id == batch_id) & (LinerStage.stage == Stage.LOST)
        assert taken == self._sum(before) + self._sum(left) + (there or 0)
        if after:
            assert after.ready + after.lost + after.growing == taken
            growing = self.session.scalar(
                select(func.coalesce(func.sum(LinerLotFacts.number), 0)).where(
                    LinerLotFacts.liner_lot_id.in_(lots), LinerLotFacts.ready_on.is_(None)
                )
            )
            assert after.growing == growing

    def _lot_adds_up(self, lot: LinerLot) -> None:
        facts = self.session.get_one(LinerLotFacts, lot.id)
        came = self._sum(LinerStage.into_lot_id == lot.id)
        assert facts.began == came
        assert facts.number == came - self._sum(LinerStage.liner_lot_id == lot.id) >= 0

    def _sum(self, condition: Any) -> int:
        query = select(func.coalesce(func.sum(LinerStage.number), 0))
        return self.session.scalar(query.where(LinerStage.withdrawn == 0, condition)) or 0

    def _stick(self, stuck: int, *, days: int, parent: int | None) -> None:
        on: date = TODAY - timedelta(days=days)
        wanted = entry(
            self.plant,
            stuck=stuck,
            stuck_on=on,
            restuck_from_id=parent,
            bench_id=self.benches[0],
            trays=4,
        )
        self.batches.append(stick_batch(self.session, **self._who(), entry=wanted).id)

    def _check(self, batch_id: int, found: Any) -> None:
        made = record_check(self.session, **self._who(), batch_id=batch_id, entry=found)
        self.checks.append(made.check_id)

    def _pot(self, batch_id: int, number: int, *, days: int) -> None:
        said_of = stage(Stage.POTTED_UP, days, number=number, bench_id=self.benches[1])
        pot_up(self.session, **self._who(), batch_id=batch_id, entry=said_of)

    def _batch(self, place: int) -> int:
        return self.batches[place % len(self.batches)]

    def _lot(self, place: int) -> int:
        """Return a lot, sooner one with plants in it."""
        table = LinerLotFacts
        query = select(table.liner_lot_id).order_by(table.number == 0, table.liner_lot_id)
        full = self.session.scalars(query.where(table.number > 0)).all()
        ids = full if full and place % 5 else self.session.scalars(query).all()
        return ids[place % len(ids)]

    def _ready_lots(self) -> list[int]:
        query = select(LinerLotFacts.liner_lot_id).where(
            LinerLotFacts.number > 0, LinerLotFacts.ready_on.is_not(None)
        )
        found = list(self.session.scalars(query))
        return found if len(found) > 1 else []

    def _stage(self, place: int) -> LinerStage:
        rows = self.session.scalars(select(LinerStage).order_by(LinerStage.id)).all()
        return rows[place % len(rows)]

    def _who(self) -> dict[str, Any]:
        return {"actor": self.head, "now": NOW, "today": TODAY}

    def _written(self) -> list[int | None]:
        return [self.session.scalar(select(func.count()).select_from(one)) for one in _COUNTED]

    def _try(self, name: str, what: Callable[[], object]) -> None:
        """Do it, or be refused with a sentence and leave nothing of it behind."""
        before = self._written()
        batches, checks = len(self.batches), len(self.checks)
        try:
            with self.session.begin_nested():
                what()
                self.session.flush()
            self.done.add(name)
        except NotAccepted as refusal:
            assert all(problem.sentence for problem in refusal.problems)
            self.done.add(f"{name} refused")
            self.session.expire_all()
            del self.batches[batches:], self.checks[checks:]
            assert self._written() == before


def test_in_whatever_order_it_is_told_everything_adds_up(session: Session, head: Actor) -> None:
    load_starting_lost_causes(session)
    plant = add_plant(session)
    places = (add_bench(session), add_bench(session, "Frame 1", 2))

    class Here(Unit):
        pass

    Here.session, Here.head, Here.plant, Here.benches = session, head, plant, places
    Here.done = set()
    run_machine(
        Here,
        settings=settings(
            max_examples=14,
            stateful_step_count=30,
            deadline=None,
            derandomize=True,
            suppress_health_check=[HealthCheck.too_slow],
        ),
    )
    # So that a machine that only ever refuses, or never does, is noticed.
    assert {
        "re-stuck", "checked", "check corrected", "check withdrawn", "check undone",
        "batch corrected", "batch moved", "potted up", "lost before", "weaned", "split", "merged",
        "lost", "ready", "graded out", "stage withdrawn", "stage corrected", "lot moved",
    } <= Here.done  # fmt: skip
    assert {
        "re-stuck refused", "check corrected refused", "voided refused", "potted up refused",
        "merged refused", "stage withdrawn refused", "stage corrected refused",
    } <= Here.done  # fmt: skip
