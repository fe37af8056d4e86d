"""Voiding a batch that was entered by mistake, and taking that back."""

import json
from datetime import date
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.batches import BatchEntry
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotAllowed
from app.services.batches import (
    StuckBatch,
    correct_batch,
    reinstate_batch,
    stick_batch,
    void_batch,
)
from app.store.models.batches import Batch, BatchFacts
from app.store.models.benches import BenchStay
from app.store.models.history import HistoryLine
from tests.conftest import NOW, TODAY
from tests.services.batch_records import (
    add_bench,
    add_plant,
    entry,
)


def stick(session: Session, actor: Actor, said: BatchEntry, today: date = TODAY) -> StuckBatch:
    return stick_batch(session, actor=actor, today=today, now=NOW, entry=said)


def correct(
    session: Session, actor: Actor, stuck: StuckBatch, said: BatchEntry, **more: Any
) -> None:
    values: dict[str, Any] = {"version": 1, "today": TODAY, "now": NOW} | more
    correct_batch(session, actor=actor, batch_id=stuck.id, entry=said, **values)


def void(session: Session, actor: Actor, stuck: StuckBatch, reason: str = "typed twice") -> None:
    void_batch(session, actor=actor, today=TODAY, now=NOW, batch_id=stuck.id, reason=reason)


def facts(session: Session, stuck: StuckBatch) -> Any:
    query = select(BatchFacts.__table__).where(BatchFacts.batch_id == stuck.id)
    return session.execute(query).one()


def stays(session: Session, stuck: StuckBatch) -> list[tuple[int, date, date | None]]:
    query = select(BenchStay.bench_id, BenchStay.from_on, BenchStay.to_on).where(
        BenchStay.batch_id == stuck.id
    )
    return [tuple(row) for row in session.execute(query)]


def last_line(session: Session) -> tuple[str, str, str, dict[str, Any]]:
    line = session.scalars(select(HistoryLine).order_by(HistoryLine.sequence.desc())).first()
    assert line is not None
    return line.actor_key, line.what, line.subject, json.loads(line.change)


def test_a_void_batch_counts_nowhere_and_can_be_reinstated(
    session: Session, trainee: Actor
) -> None:
    bench = add_bench(session)
    stuck = stick(session, trainee, entry(add_plant(session), bench_id=bench))
    void(session, trainee, stuck)
    found = facts(session, stuck)
    assert (found.voided, found.open, found.due_on) == (1, 0, None)
    assert last_line(session)[1:] == (
        "batch voided",
        "batch 26-0001",
        {"void": [False, True], "reason": [None, "typed twice"]},
    )
    with pytest.raises(NotAccepted, match="void already"):
        void(session, trainee, stuck)
    with pytest.raises(NotAccepted, match="reinstate it before"):
        correct(session, trainee, stuck, entry(1), version=2)
    reinstate_batch(session, actor=trainee, today=TODAY, now=NOW, batch_id=stuck.id)
    found = facts(session, stuck)
    assert (found.voided, found.open) == (0, 1)
    assert stays(session, stuck) == [(bench, TODAY, None)]
    assert session.get_one(Batch, stuck.id).void_reason == ""
    with pytest.raises(NotAccepted, match="is not void"):
        reinstate_batch(session, actor=trainee, today=TODAY, now=NOW, batch_id=stuck.id)


def test_voiding_asks_for_a_reason_and_for_who_may(
    session: Session, trainee: Actor, head: Actor
) -> None:
    stuck = stick(session, head, entry(add_plant(session)))
    with pytest.raises(NotAccepted, match="Say why"):
        void(session, head, stuck, "  ")
    with pytest.raises(NotAllowed):
        void(session, trainee, stuck)
    assert facts(session, stuck).voided == 0


def test_a_batch_others_were_re_stuck_from_is_not_voided(session: Session, head: Actor) -> None:
    plant = add_plant(session)
    parent = stick(session, head, entry(plant))
    child = stick(session, head, entry(plant, restuck_from_id=parent.id, stuck=5))
    with pytest.raises(NotAccepted, match="26-0002 was re-stuck from this batch"):
        void(session, head, parent)
    void(session, head, child)
    void(session, head, parent)
    assert facts(session, parent).voided == 1
