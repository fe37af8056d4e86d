"""Moving all that stands on a bench at once, and taking that back as a whole."""

import secrets
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.days import day_long
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound, Problem
from app.services.batch_moves import NO_BENCH
from app.services.history import Entry, JsonValue, record_changes
from app.store.models.batches import Batch
from app.store.models.benches import Bench, BenchMove, BenchStay
from app.store.queries.bench_batches import (
    StandingBatch,
    get_bench_name,
    list_standing_batches,
)


@dataclass(frozen=True, kw_only=True)
class BenchMoved:
    """A move of many batches; `key` names it to take it back."""

    key: str
    codes: tuple[str, ...]


def move_bench(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    bench_id: int,
    to_bench_id: int | None,
    moved_on: date,
    except_batch_ids: Collection[int] = (),
) -> BenchMoved:
    """Let every open batch on a bench but those excepted stand elsewhere from a day on.

    Of a batch that stands on several benches only what stands here is moved.

    Raises:
        NotAccepted: the day or the bench does not fit, or nothing is left to move.
        NotFound: there is no such bench.
    """
    names = (get_bench_name(session, bench_id=bench_id), _name(session, to_bench_id))
    batches = [
        batch
        for batch in list_standing_batches(session, bench_id=bench_id)
        if batch.batch_id not in except_batch_ids
    ]
    stays = _stays_here(session, batches, bench_id=bench_id)
    _refuse_odd(bench_id, to_bench_id, batches, stays, moved_on=moved_on, today=today)
    made = [
        _move(session, stays[batch.batch_id], to_bench_id=to_bench_id, moved_on=moved_on)
        for batch in batches
    ]
    key = secrets.token_urlsafe(12)
    row = BenchMove(key=key, from_bench_id=bench_id, to_bench_id=to_bench_id, moved_on=moved_on)
    row.made_at, row.recorded_by_id, row.made = now, actor.person_id, made
    session.add(row)
    change = _change(names, moved_on=moved_on)
    codes = tuple(batch.code for batch in batches)
    _write(session, codes, actor=actor, now=now, what="batch moved", change=change)
    return BenchMoved(key=key, codes=codes)


def undo_bench_move(session: Session, *, actor: Actor, now: datetime, key: str) -> int:
    """Let everything a move took along stand again as before; return how many batches.

    Raises:
        NotAccepted: one of them was moved again since, or the move is taken back already.
        NotFound: there is no such move.
    """
    row = session.scalar(select(BenchMove).where(BenchMove.key == key))
    if row is None:
        raise NotFound("There is no such move.")
    if row.undone_at is not None:
        raise NotAccepted.at("", "This move was taken back already.")
    codes = [_take_back(session, made) for made in row.made]
    row.undone_at = now
    session.flush()
    change: dict[str, JsonValue] = {
        "bench": [_name(session, row.to_bench_id), _name(session, row.from_bench_id)]
    }
    what = "move of batch taken back"
    _write(session, codes, actor=actor, now=now, what=what, change=change)
    return len(codes)


def _change(names: tuple[str, str], *, moved_on: date) -> dict[str, JsonValue]:
    return {"bench": [*names], "moved_on": [None, moved_on.isoformat()]}


def _stays_here(
    session: Session, batches: Sequence[StandingBatch], *, bench_id: int
) -> dict[int, list[BenchStay]]:
    query = (
        select(BenchStay)
        .where(
            BenchStay.bench_id == bench_id,
            BenchStay.to_on.is_(None),
            BenchStay.batch_id.in_([batch.batch_id for batch in batches]),
        )
        .order_by(BenchStay.id)
    )
    found: dict[int, list[BenchStay]] = {}
    for stay in session.scalars(query):
        found.setdefault(stay.batch_id or 0, []).append(stay)
    return found


def _refuse_odd(
    bench_id: int,
    to_bench_id: int | None,
    batches: Sequence[StandingBatch],
    stays: dict[int, list[BenchStay]],
    *,
    moved_on: date,
    today: date,
) -> None:
    problems = []
    if to_bench_id == bench_id:
        problems.append(Problem(field="bench", sentence="They stand there already."))
    if not batches:
        problems.append(Problem(field="", sentence="No batch is left to move."))
    if moved_on > today:
        sentence = f"{day_long(moved_on)} is still to come: give the day they were moved."
        problems.append(Problem(field="moved_on", sentence=sentence))
    late = [
        batch.code
        for batch in batches
        if any(stay.from_on > moved_on for stay in stays[batch.batch_id])
    ]
    if late:
        sentence = (
            f"{', '.join(late)} came here after {day_long(moved_on)}: give a later day, or leave "
            "them where they are."
        )
        problems.append(Problem(field="moved_on", sentence=sentence))
    if problems:
        raise NotAccepted(tuple(problems))


def _move(
    session: Session, stays: Sequence[BenchStay], *, to_bench_id: int | None, moved_on: date
) -> dict[str, Any]:
    """End these stays of one batch, begin those on the other bench, and say which they are."""
    begun = []
    for stay in stays:
        stay.to_on = moved_on
        if to_bench_id is not None:
            there = BenchStay(
                batch_id=stay.batch_id, bench_id=to_bench_id, trays=stay.trays, from_on=moved_on
            )
            session.add(there)
            begun.append(there)
    session.flush()
    batch_id = stays[0].batch_id
    return {
        "batch": batch_id,
        "ended": [stay.id for stay in stays],
        "begun": [stay.id for stay in begun],
        "newest": _newest(session, batch_id),
    }


def _take_back(session: Session, made: dict[str, Any]) -> str:
    code = session.scalar(select(Batch.code).where(Batch.id == made["batch"])) or ""
    ended = [session.get(BenchStay, stay_id) for stay_id in made["ended"]]
    begun = [session.get(BenchStay, stay_id) for stay_id in made["begun"]]
    as_it_was = all(begun) and all(ended) and all(one is None or not one.to_on for one in begun)
    if not as_it_was or _newest(session, made["batch"]) != made["newest"]:
        sentence = f"{code} was moved again since: move the batches back one by one instead."
        raise NotAccepted.at("", sentence)
    for stay in begun:
        session.delete(stay)
    for stay in ended:
        if stay is not None:
            stay.to_on = None
    session.flush()
    return code


def _newest(session: Session, batch_id: int | None) -> int:
    return session.scalar(select(func.max(BenchStay.id)).where(BenchStay.batch_id == batch_id)) or 0


def _name(session: Session, bench_id: int | None) -> str:
    if bench_id is None:
        return NO_BENCH
    bench = session.get(Bench, bench_id)
    if bench is None or bench.closed_at is not None:
        raise NotAccepted.at("bench", "Choose a bench that is in use.")
    return bench.name


def _write(
    session: Session,
    codes: Sequence[str],
    *,
    actor: Actor,
    now: datetime,
    what: str,
    change: dict[str, JsonValue],
) -> None:
    entries = [Entry(what=what, subject=f"batch {code}", change=change) for code in codes]
    record_changes(session, actor=actor, now=now, entries=entries)
