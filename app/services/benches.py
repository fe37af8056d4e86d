"""Benches: adding, correcting, putting in walking order, closing."""

from datetime import datetime

from sqlalchemy import func, select, update
from sqlalchemy.orm import Session

from app.domain.benches import BenchEntry, accepted_bench
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.services.corrections import correct_row
from app.services.history import JsonValue, record_change
from app.store.models.benches import Bench
from app.store.queries.benches import find_bench_id, what_stands_on


def add_bench(session: Session, *, actor: Actor | None, now: datetime, entry: BenchEntry) -> int:
    """Add a bench at the end of the walk and return its id.

    Raises:
        NotAccepted: the entry breaks a rule or the name is taken.
    """
    entry = accepted_bench(entry)
    _refuse_taken(session, entry.name, but=None)
    last = session.scalar(select(func.max(Bench.walking_order))) or 0
    row = Bench(
        name=entry.name,
        capacity_trays=entry.capacity_trays,
        notes=entry.notes,
        walking_order=last + 1,
    )
    session.add(row)
    session.flush()
    _write(session, actor, now, "bench added", entry.name, {})
    return row.id


def keep_bench(session: Session, *, actor: Actor | None, now: datetime, name: str) -> int:
    """Return the id of the bench of this name, adding it if it is new.

    Raises:
        NotAccepted: no name, or one too long.
    """
    entry = accepted_bench(BenchEntry(name=name))
    found = find_bench_id(session, name=entry.name)
    return found if found is not None else add_bench(session, actor=actor, now=now, entry=entry)


def correct_bench(
    session: Session,
    *,
    actor: Actor | None,
    now: datetime,
    bench_id: int,
    version: int,
    entry: BenchEntry,
) -> None:
    """Correct a bench's name, room and notes.

    Raises:
        NotAccepted: the entry breaks a rule or the name is taken.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such bench.
    """
    row = _row(session, bench_id)
    entry = accepted_bench(entry)
    _refuse_taken(session, entry.name, but=bench_id)
    after = {
        "name": entry.name,
        "capacity_trays": entry.capacity_trays,
        "notes": entry.notes,
    }
    changes = correct_row(row, version=version, after=after)
    if changes:
        session.flush()
        _write(session, actor, now, "bench corrected", row.name, changes)


def place_bench(session: Session, *, actor: Actor, now: datetime, bench_id: int, place: int) -> int:
    """Put a bench at a place in the walk, 1 for the first, and return the place it had.

    The others close up; a place beyond the last means the last. A closed bench keeps its place.

    Raises:
        NotFound: there is no such bench, or it is closed.
    """
    query = (
        select(Bench.id).where(Bench.closed_at.is_(None)).order_by(Bench.walking_order, Bench.name)
    )
    walk = list(session.scalars(query))
    if bench_id not in walk:
        raise NotFound("There is no such bench in use.")
    before = walk.index(bench_id) + 1
    walk.remove(bench_id)
    walk.insert(max(place, 1) - 1, bench_id)
    after = walk.index(bench_id) + 1
    for order, one in enumerate(walk, start=1):
        # The walk is one list, not a property of each bench: no version counts up.
        session.execute(
            update(Bench.__table__).where(Bench.id == one).values(walking_order=order)  # type: ignore[arg-type]
        )
    if after != before:
        row = _row(session, bench_id)
        change: dict[str, JsonValue] = {"place in the walk": [before, after]}
        _write(session, actor, now, "bench moved in the walk", row.name, change)
    session.expire_all()
    return before


def close_bench(session: Session, *, actor: Actor, now: datetime, bench_id: int) -> None:
    """Take a bench out of use.

    Raises:
        NotAccepted: something stands there.
        NotFound: there is no such bench.
    """
    row = _row(session, bench_id)
    standing = what_stands_on(session, bench_id=bench_id)
    if standing:
        sentence = (
            f"{row.name} is not empty: {', '.join(standing[:5])}"
            f"{' and more' if len(standing) > 5 else ''} stand there. Move or clear them first."
        )
        raise NotAccepted.at("", sentence)
    if row.closed_at is None:
        row.closed_at = now
        session.flush()
        _write(session, actor, now, "bench closed", row.name, {"closed": [False, True]})


def reopen_bench(session: Session, *, actor: Actor, now: datetime, bench_id: int) -> None:
    """Put a closed bench back into use, at the end of the walk.

    Raises:
        NotFound: there is no such bench.
    """
    row = _row(session, bench_id)
    if row.closed_at is not None:
        row.closed_at = None
        row.walking_order = (session.scalar(select(func.max(Bench.walking_order))) or 0) + 1
        session.flush()
        _write(session, actor, now, "bench reopened", row.name, {"closed": [True, False]})


def _row(session: Session, bench_id: int) -> Bench:
    row = session.get(Bench, bench_id)
    if row is None:
        raise NotFound("There is no such bench.")
    return row


def _refuse_taken(session: Session, name: str, *, but: int | None) -> None:
    found = find_bench_id(session, name=name)
    if found is not None and found != but:
        raise NotAccepted.at("name", f"There is a bench called {name} already.")


def _write(
    session: Session,
    actor: Actor | None,
    now: datetime,
    what: str,
    name: str,
    change: dict[str, JsonValue],
) -> None:
    record_change(session, actor=actor, now=now, what=what, subject=f"bench {name}", change=change)
