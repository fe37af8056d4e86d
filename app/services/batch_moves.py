"""Moving a batch from bench to bench, and taking the last move back."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.batch_moves import MoveEntry, Stand, stands_moved
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.services.history import JsonValue, record_change
from app.store.models.batches import Batch
from app.store.models.benches import Bench, BenchStay
from app.store.queries.batch_places import list_stands

NO_BENCH = "no bench"


@dataclass(frozen=True, kw_only=True)
class MoveMade:
    """Which stays a move ended and which it began, for taking it back."""

    ended: tuple[int, ...]
    begun: tuple[int, ...]


def move_batch(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    batch_id: int,
    entry: MoveEntry,
) -> MoveMade:
    """Let a batch, or some of its trays, stand elsewhere from a day on.

    Raises:
        NotAccepted: the day, the bench or the number of trays does not fit, or the batch is void.
        NotFound: there is no such batch.
    """
    row = _row(session, batch_id)
    moved = stands_moved(
        entry,
        stands=list_stands(session, batch_id=batch_id),
        trays=row.trays,
        stuck_on=row.stuck_on,
        today=today,
    )
    for stand in moved:
        session.get_one(BenchStay, stand.stay_id).to_on = entry.moved_on
    begun = _begin(session, entry, moved, row=row)
    change: dict[str, JsonValue] = {
        "bench": [_names(moved), _bench(session, entry.to_bench_id)],
        "moved_on": [None, entry.moved_on.isoformat()],
    }
    if entry.trays is not None:
        change["trays"] = [None, entry.trays]
    _write(session, actor=actor, now=now, what="batch moved", row=row, change=change)
    return MoveMade(ended=tuple(stand.stay_id for stand in moved), begun=begun)


def undo_move(
    session: Session, *, actor: Actor, now: datetime, batch_id: int, made: MoveMade
) -> None:
    """Let a batch stand again as it did before a move.

    Raises:
        NotAccepted: it was moved again since, or the move was not this batch's.
        NotFound: there is no such batch.
    """
    row = _row(session, batch_id)
    query = select(BenchStay).where(BenchStay.batch_id == batch_id)
    stays = {stay.id: stay for stay in session.scalars(query)}
    current = {stay_id for stay_id, stay in stays.items() if stay.to_on is None}
    # Whatever stands now must be what that move began, or have stood beside it all along.
    latest = max(current, default=0)
    if (
        not {*made.ended, *made.begun} <= stays.keys()
        or not set(made.begun) <= current
        or (latest > max((*made.begun, *made.ended), default=0))
    ):
        raise NotAccepted.at("", f"{row.code} was moved again since: move it back instead.")
    for stay_id in made.begun:
        session.delete(stays[stay_id])
    for stay_id in made.ended:
        stays[stay_id].to_on = None
    session.flush()
    change: dict[str, JsonValue] = {
        "bench": [None, _names(list_stands(session, batch_id=batch_id))]
    }
    _write(session, actor=actor, now=now, what="move of batch taken back", row=row, change=change)


def _begin(
    session: Session, entry: MoveEntry, moved: tuple[Stand, ...], *, row: Batch
) -> tuple[int, ...]:
    """Begin the stays of what was moved and of what stays behind; return their ids."""
    places: list[tuple[int, int | None]] = []
    if entry.trays is not None:
        (stand,) = moved
        there = (row.trays if stand.trays is None else stand.trays) or 0
        places.append((stand.bench_id, there - entry.trays))
    if entry.to_bench_id is not None:
        places.append((entry.to_bench_id, entry.trays))
    begun = [
        BenchStay(batch_id=row.id, bench_id=bench_id, trays=trays, from_on=entry.moved_on)
        for bench_id, trays in places
    ]
    session.add_all(begun)
    session.flush()
    return tuple(stay.id for stay in begun)


def _row(session: Session, batch_id: int) -> Batch:
    row = session.get(Batch, batch_id)
    if row is None:
        raise NotFound("There is no such batch.")
    if row.voided_at is not None:
        raise NotAccepted.at("", f"{row.code} is void: reinstate it before you move it.")
    return row


def _bench(session: Session, bench_id: int | None) -> str:
    if bench_id is None:
        return NO_BENCH
    return session.scalar(select(Bench.name).where(Bench.id == bench_id)) or NO_BENCH


def _names(stands: Iterable[Stand]) -> str:
    return " and ".join(stand.bench for stand in stands) or NO_BENCH


def _write(
    session: Session,
    *,
    actor: Actor,
    now: datetime,
    what: str,
    row: Batch,
    change: dict[str, JsonValue],
) -> None:
    record_change(
        session, actor=actor, now=now, what=what, subject=f"batch {row.code}", change=change
    )
