"""Moving a liner lot from bench to bench, and taking that back."""

from dataclasses import replace
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.batch_moves import MoveEntry, stands_moved
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.services.batch_moves import NO_BENCH, MoveMade
from app.services.history import JsonValue, record_change
from app.services.liner_stages import get_lot_row
from app.store.models.benches import Bench, BenchStay
from app.store.models.liner_lots import LinerLot, LinerLotFacts
from app.store.queries.bench_lots import list_lot_stands


def move_lot(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    lot_id: int,
    entry: MoveEntry,
) -> MoveMade:
    """Let a whole lot stand elsewhere from a day on; to move some of it, split it first.

    Raises:
        NotAccepted: the day or the bench does not fit, or the lot is empty.
        NotFound: there is no such lot.
    """
    lot = get_lot_row(session, lot_id=lot_id)
    moved = stands_moved(
        replace(entry, trays=None),
        stands=list_lot_stands(session, lot_id=lot_id),
        trays=lot.trays,
        stuck_on=_began_on(session, lot),
        today=today,
    )
    before = ", ".join(stand.bench for stand in moved) or NO_BENCH
    for stand in moved:
        session.get_one(BenchStay, stand.stay_id).to_on = entry.moved_on
    begun: list[BenchStay] = []
    if entry.to_bench_id is not None:
        begun = [BenchStay(liner_lot_id=lot.id, bench_id=entry.to_bench_id, from_on=entry.moved_on)]
        session.add_all(begun)
    session.flush()
    change: dict[str, JsonValue] = {
        "bench": [before, _bench(session, entry.to_bench_id)],
        "moved_on": [None, entry.moved_on.isoformat()],
    }
    _write(session, lot, actor=actor, now=now, what="liner lot moved", change=change)
    ended = tuple(stand.stay_id for stand in moved)
    return MoveMade(ended=ended, begun=tuple(stay.id for stay in begun))


def undo_lot_move(
    session: Session, *, actor: Actor, now: datetime, lot_id: int, made: MoveMade
) -> None:
    """Let a lot stand again as it did before a move.

    Raises:
        NotAccepted: it was moved again since, or the move was not this lot's.
        NotFound: there is no such lot.
    """
    lot = get_lot_row(session, lot_id=lot_id)
    query = select(BenchStay).where(BenchStay.liner_lot_id == lot_id)
    stays = {stay.id: stay for stay in session.scalars(query)}
    current = {stay_id for stay_id, stay in stays.items() if stay.to_on is None}
    named = {*made.ended, *made.begun}
    if not named or not named <= stays.keys() or current != set(made.begun):
        raise NotAccepted.at("", f"{lot.code} was moved again since: move it back instead.")
    for stay_id in made.begun:
        session.delete(stays[stay_id])
    for stay_id in made.ended:
        stays[stay_id].to_on = None
    session.flush()
    there = ", ".join(stand.bench for stand in list_lot_stands(session, lot_id=lot_id))
    change: dict[str, JsonValue] = {"bench": [None, there or NO_BENCH]}
    what = "move of liner lot taken back"
    _write(session, lot, actor=actor, now=now, what=what, change=change)


def _began_on(session: Session, lot: LinerLot) -> date:
    facts = session.get(LinerLotFacts, lot.id)
    if facts is None or facts.began_on is None or not facts.number:
        raise NotAccepted.at("", f"{lot.code} has no plants in it.")
    return facts.began_on


def _bench(session: Session, bench_id: int | None) -> str:
    if bench_id is None:
        return NO_BENCH
    bench = session.get(Bench, bench_id)
    if bench is None or bench.closed_at is not None:
        raise NotAccepted.at("bench", "Choose a bench that is in use.")
    return bench.name


def _write(
    session: Session,
    lot: LinerLot,
    *,
    actor: Actor,
    now: datetime,
    what: str,
    change: dict[str, JsonValue],
) -> None:
    record_change(
        session, actor=actor, now=now, what=what, subject=f"liner lot {lot.code}", change=change
    )
