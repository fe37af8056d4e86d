"""Walking a bench: one look logged for every batch standing there but those excepted."""

import secrets
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.domain.days import day_long
from app.domain.outcomes import CheckCounts, CheckKind
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotAllowed, NotFound
from app.services.batch_facts import refresh_many
from app.services.check_versions import CheckContent, VersionMark, add_check, next_running
from app.services.checks import withdraw_check
from app.services.history import record_change
from app.store.queries.bench_batches import (
    StandingBatch,
    get_bench_name,
    list_standing_batches,
)
from app.store.queries.checks import list_walk


@dataclass(frozen=True, kw_only=True)
class BenchWalk:
    """One walk along a bench; `walk_key` names it to undo it, `check_ids` are its looks."""

    walk_key: str
    bench: str
    walked_on: date
    looked_at: tuple[str, ...]
    check_ids: tuple[int, ...] = ()


def walk_bench(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    bench_id: int,
    walked_on: date | None = None,
    except_batch_ids: Collection[int] = (),
) -> BenchWalk:
    """Log a look at every open batch on a bench but those excepted, and return the walk.

    Batches stuck after the day of the walk are left out.

    Raises:
        NotAccepted: the day has not come, or nothing is left to have looked at.
        NotFound: there is no such bench.
    """
    walked_on = walked_on or today
    _refuse_future(walked_on, today=today)
    bench = get_bench_name(session, bench_id=bench_id)
    standing = list_standing_batches(session, bench_id=bench_id)
    old_enough = [batch for batch in standing if batch.stuck_on <= walked_on]
    batches = [batch for batch in old_enough if batch.batch_id not in except_batch_ids]
    _refuse_nothing(batches, bench=bench)
    walk_key = secrets.token_urlsafe(12)
    check_ids = _look_at(
        session, batches, actor=actor, now=now, walked_on=walked_on, walk_key=walk_key
    )
    refresh_many(session, batch_ids=[batch.batch_id for batch in batches])
    subject = f"bench {bench}, walk {walk_key}"
    record_change(session, actor=actor, now=now, what="bench walked", subject=subject, change={})
    return BenchWalk(
        walk_key=walk_key,
        bench=bench,
        walked_on=walked_on,
        looked_at=tuple(batch.code for batch in batches),
        check_ids=check_ids,
    )


def _refuse_nothing(batches: Sequence[StandingBatch], *, bench: str) -> None:
    if not batches:
        sentence = f"No batch on {bench} is left to have been looked at; nothing was logged."
        raise NotAccepted.at("", sentence)


def _refuse_future(walked_on: date, *, today: date) -> None:
    if walked_on > today:
        sentence = f"{day_long(walked_on)} has not come yet. Give the day of the walk."
        raise NotAccepted.at("walked_on", sentence)


def undo_walk(session: Session, *, actor: Actor, now: datetime, walk_key: str) -> int:
    """Withdraw every look of a walk that still stands and return how many there were.

    Raises:
        NotAllowed: somebody else walked it.
        NotFound: there is no such walk.
    """
    looks = list_walk(session, walk_key=walk_key)
    if not walk_key or not looks:
        raise NotFound("There is no such walk.")
    if any(look.first_recorded_by_id != actor.person_id for look in looks):
        raise NotAllowed("Only who walked the bench can undo the walk.")
    standing = [look for look in looks if not look.counts.withdrawn and look.version == 1]
    for look in standing:
        withdraw_check(
            session,
            actor=actor,
            now=now,
            check_id=look.id,
            version=look.version,
            reason="walk undone",
        )
    return len(standing)


def _look_at(
    session: Session,
    batches: Sequence[StandingBatch],
    *,
    actor: Actor,
    now: datetime,
    walked_on: date,
    walk_key: str,
) -> tuple[int, ...]:
    check_ids = []
    mark = VersionMark(number=1, recorded_at=now, recorded_by_id=actor.person_id)
    for batch in batches:
        running = next_running(session, batch_id=batch.batch_id, checked_on=walked_on)
        counts = CheckCounts(checked_on=walked_on, running=running, kind=CheckKind.LOOKED_ONLY)
        content = CheckContent(counts=counts, walk_key=walk_key, checked_by_id=actor.person_id)
        check_id = add_check(session, batch_id=batch.batch_id, content=content, mark=mark)
        check_ids.append(check_id)
    return tuple(check_ids)
