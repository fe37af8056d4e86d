"""Reading every batch's counts at once, as the learning of rates and times takes them."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import numpy as np
from sqlalchemy import Row, func, select
from sqlalchemy.orm import Session

from app.domain.cutting_types import OTHER_WAYS
from app.domain.fit_records import FitRecords, type_code
from app.domain.outcomes import CheckCounts
from app.stats.histories import Histories
from app.store.models.batches import Batch, BatchFacts
from app.store.models.checks import Check
from app.store.queries.restuck import restuck_by_batch


def read_fit_records(
    session: Session, *, genus_id: int | None = None, cutting_type: str | None = None
) -> FitRecords:
    """Return all batches but the voided and the re-stuck ones, in the order of their ids.

    Only those of a genus, and of a type ("" for not recorded), where these are given. Counts of
    one batch and day are put together. What was cleared unrooted counts as still waiting at the
    age at which it was cleared.
    """
    narrow = [
        *([BatchFacts.genus_id == genus_id] if genus_id is not None else []),
        *([BatchFacts.cutting_type == cutting_type] if cutting_type is not None else []),
    ]
    rows = session.execute(_batches().where(*narrow)).all()
    places = {row.batch_id: place for place, row in enumerate(rows)}
    stuck_on = [row.stuck_on for row in rows]
    counts = _counts()
    if narrow:
        counts = counts.join(BatchFacts, BatchFacts.batch_id == Check.batch_id).where(*narrow)
    looks = [look for look in session.execute(counts) if look.batch_id in places]
    return FitRecords(
        batch_ids=_whole([row.batch_id for row in rows]),
        genus=_whole([row.genus_id for row in rows]),
        cutting_type=_whole([type_code(row.cutting_type) for row in rows]),
        # A type and a hormone make a method; 100 is more than there are types.
        method=_whole([type_code(r.cutting_type) + 100 * (r.hormone_id or 0) for r in rows]),
        month=_whole([row.month_stuck for row in rows]),
        histories=_histories(
            rows, looks, places, stuck_on, restuck_by_batch(session, batch_ids=_parents(session))
        ),
    )


def _parents(session: Session) -> Sequence[int]:
    query = select(Batch.restuck_from_id).where(Batch.restuck_from_id.is_not(None)).distinct()
    return [parent for parent in session.scalars(query) if parent is not None]


def _batches() -> Any:
    facts = BatchFacts
    return (
        select(
            facts.batch_id,
            facts.genus_id,
            facts.cutting_type,
            facts.hormone_id,
            facts.month_stuck,
            facts.stuck_on,
            facts.stuck,
            facts.dumped,
            facts.cleared_unrooted,
            facts.unrooted,
            facts.counted_on,
        )
        .join(Batch, Batch.id == facts.batch_id)
        .where(
            facts.voided == 0,
            Batch.restuck_from_id.is_(None),
            facts.cutting_type.not_in(OTHER_WAYS),
        )
        .order_by(facts.batch_id)
    )


def _counts() -> Any:
    return (
        select(
            Check.batch_id,
            Check.checked_on,
            func.sum(Check.rooted).label("rooted"),
            func.sum(Check.lost).label("lost"),
        )
        .where(Check.kind == "counted", Check.withdrawn == 0)
        .group_by(Check.batch_id, Check.checked_on)
        .order_by(Check.batch_id, Check.checked_on)
    )


def _histories(
    rows: Any,
    looks: list[Row[Any]],
    places: dict[int, int],
    stuck_on: list[date],
    moved: Mapping[int, Sequence[CheckCounts]],
) -> Histories:
    cluster = [places[look.batch_id] for look in looks]
    ends = [
        float((look.checked_on - stuck_on[place]).days)
        for look, place in zip(looks, cluster, strict=True)
    ]
    counted: dict[int, list[float]] = {}
    for place, end in zip(cluster, ends, strict=True):
        counted.setdefault(place, []).append(end)
    ages = [float((row.counted_on - row.stuck_on).days) if row.counted_on else 0.0 for row in rows]
    waited = [
        _waiting_age(
            row, age=age, moved=moved.get(row.batch_id, ()), counted=counted.get(place, ())
        )
        for place, (row, age) in enumerate(zip(rows, ages, strict=True))
    ]
    return Histories(
        cluster=_whole(cluster),
        start=np.array(_starts(cluster, ends)),
        # A count on the day of sticking says nothing of days: it is put just after it.
        end=np.maximum(np.array(ends), 0.5),
        onsets=np.array([float(look.rooted) for look in looks]),
        failures=np.array([float(look.lost) for look in looks]),
        size=np.array([float(row.stuck) for row in rows]),
        waiting=np.array([float(row.unrooted + row.cleared_unrooted) for row in rows]),
        waiting_age=np.array(waited),
        written_off=np.array([float(row.dumped) for row in rows]),
        written_off_age=np.array(ages),
    )


def _waiting_age(
    row: Any, *, age: float, moved: Sequence[CheckCounts], counted: Sequence[float]
) -> float:
    """Return the age at which what still waits was last seen to wait.

    Re-stuck ones were last seen before they were taken out. Where others wait on, their mean age
    by number stands for both: one batch has one age here.
    """
    waiting = float(row.unrooted + row.cleared_unrooted)
    if not moved or not waiting:
        return age
    others = waiting - sum(each.restuck for each in moved)
    total = age * others
    for each in moved:
        gone = (each.checked_on - row.stuck_on).days
        total += each.restuck * max((seen for seen in counted if seen <= gone), default=0.0)
    return total / waiting


def _starts(cluster: list[int], ends: list[float]) -> list[float]:
    starts, before = [], -1
    for place, owner in enumerate(cluster):
        starts.append(ends[place - 1] if owner == before else 0.0)
        before = owner
    return starts


def _whole(values: list[int]) -> Any:
    return np.array(values, dtype=np.int64)
