"""Writing a check down: its live counts in one row, and each version of it in another.

No rule is decided here; what is handed over has been tallied already.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import func, insert, select, update
from sqlalchemy.orm import Session

from app.domain.check_entries import CheckEntry
from app.domain.outcomes import CheckCounts, CheckKind
from app.services.batch_ways import write_plantlets
from app.services.history import JsonValue
from app.services.lost_causes import cause_ids
from app.store.models.batches import Batch
from app.store.models.checks import Check, CheckLoss, CheckVersion
from app.store.models.people import Person
from app.store.queries.checks import StoredCheck


@dataclass(frozen=True, kw_only=True)
class CheckContent:
    """Everything one version of a check says; `ended` went with its ending."""

    counts: CheckCounts
    ended: int = 0
    typed_as: str = "new"
    unrooted_counted: int | None = None
    rooted_means: str = ""
    medium_c: float | None = None
    humidity_percent: float | None = None
    note: str = ""
    walk_key: str = ""
    checked_by_id: int | None = None
    restuck_into_id: int | None = None
    plantlets: int | None = None


@dataclass(frozen=True, kw_only=True)
class VersionMark:
    """Who wrote a version down, when and why; a first version needs no reason."""

    number: int
    recorded_at: datetime
    recorded_by_id: int | None
    reason: str = ""


def content_of(entry: CheckEntry, *, counts: CheckCounts, ended: int) -> CheckContent:
    """Return what is stored of an entry that was counted up."""
    return CheckContent(
        counts=counts,
        ended=ended,
        typed_as=entry.typed_as.value,
        unrooted_counted=entry.counted_left,
        rooted_means=entry.rooted_means,
        medium_c=entry.medium_c,
        humidity_percent=entry.humidity_percent,
        note=entry.note,
        checked_by_id=entry.checked_by_id,
        restuck_into_id=entry.restuck_into_id,
        plantlets=entry.plantlets,
    )


def stored_content(stored: StoredCheck) -> CheckContent:
    """Return what a stored version says, to be written down again as a newer one."""
    return CheckContent(
        counts=stored.counts,
        ended=stored.ended,
        typed_as=stored.typed_as,
        unrooted_counted=stored.unrooted_counted,
        rooted_means=stored.rooted_means,
        medium_c=stored.medium_c,
        humidity_percent=stored.humidity_percent,
        note=stored.note,
        walk_key=stored.walk_key,
        checked_by_id=stored.checked_by_id,
        restuck_into_id=stored.restuck_into_id,
        plantlets=stored.plantlets,
    )


def next_running(session: Session, *, batch_id: int, checked_on: date) -> int:
    """Return the number that the next check of a batch on a day gets, from 1 on."""
    query = select(func.max(Check.running)).where(
        Check.batch_id == batch_id, Check.checked_on == checked_on
    )
    return (session.scalar(query) or 0) + 1


def add_check(session: Session, *, batch_id: int, content: CheckContent, mark: VersionMark) -> int:
    """Write down a new check with its first version and return its id."""
    session.flush()
    values = _live(content) | {"batch_id": batch_id, "version": mark.number}
    query = insert(Check).values(**values).returning(Check.id)
    check_id = session.execute(query).scalar_one()
    _add_version(session, check_id=check_id, content=content, mark=mark)
    return check_id


def change_check(
    session: Session, *, check_id: int, content: CheckContent, mark: VersionMark
) -> None:
    """Write down a newer version of a check and make its counts the live ones."""
    session.flush()
    _add_version(session, check_id=check_id, content=content, mark=mark)
    values = _live(content) | {"version": mark.number}
    session.execute(
        update(Check.__table__).where(Check.id == check_id).values(**values)  # type: ignore[arg-type]
    )


def told_plainly(session: Session, *, content: CheckContent) -> dict[str, JsonValue]:
    """Return what a version says, field by field, as history holds it: with keys and codes."""
    counts = content.counts
    person = select(Person.key).where(Person.id == content.checked_by_id)
    into = select(Batch.code).where(Batch.id == content.restuck_into_id)
    return {
        "checked_on": counts.checked_on.isoformat(),
        "kind": counts.kind.value,
        "rooted": counts.rooted,
        "lost": [f"{loss.cause}: {loss.number}" for loss in counts.lost],
        "callused": counts.callused,
        "plantlets": content.plantlets,
        "looked_at": counts.looked,
        "ending": counts.ending.value,
        "withdrawn": counts.withdrawn,
        "unrooted_counted": content.unrooted_counted,
        "rooted_means": content.rooted_means,
        "medium_c": content.medium_c,
        "humidity_percent": content.humidity_percent,
        "note": content.note,
        "checked_by": session.scalar(person) or "",
        "restuck_into": session.scalar(into) or "",
    }


def _add_version(
    session: Session, *, check_id: int, content: CheckContent, mark: VersionMark
) -> None:
    values = {**_version(content), **_mark(mark), "check_id": check_id}
    query = insert(CheckVersion).values(**values).returning(CheckVersion.id)
    version_id = session.execute(query).scalar_one()
    ids = cause_ids(session, names=[loss.cause for loss in content.counts.lost])
    rows = [
        {"check_version_id": version_id, "lost_cause_id": ids[loss.cause], "number": loss.number}
        for loss in content.counts.lost
    ]
    write_plantlets(session, check_id=check_id, version_id=version_id, plantlets=content.plantlets)
    if rows:
        session.execute(insert(CheckLoss.__table__), rows)  # type: ignore[arg-type]


def _mark(mark: VersionMark) -> dict[str, Any]:
    return {
        "number": mark.number,
        "recorded_at": mark.recorded_at,
        "recorded_by_id": mark.recorded_by_id,
        "reason": mark.reason,
    }


def _live(content: CheckContent) -> dict[str, Any]:
    counts = content.counts
    return {
        "checked_on": counts.checked_on,
        "running": counts.running,
        "kind": counts.kind.value,
        "rooted": counts.rooted if counts.kind is CheckKind.COUNTED else 0,
        "callused": counts.callused,
        "lost": counts.lost_in_all,
        "ending": counts.ending.value,
        "ended": content.ended,
        "withdrawn": int(counts.withdrawn),
    }


def _version(content: CheckContent) -> dict[str, Any]:
    counts = content.counts
    is_sample = counts.kind is CheckKind.SAMPLE
    live = _live(content)
    del live["running"]
    return live | {
        "typed_as": content.typed_as,
        "checked_by_id": content.checked_by_id,
        "restuck_into_id": content.restuck_into_id,
        "unrooted_counted": content.unrooted_counted,
        "sample_of": counts.looked if is_sample else None,
        "sample_rooted": counts.rooted if is_sample else None,
        "rooted_means": content.rooted_means,
        "medium_c": content.medium_c,
        "humidity_percent": content.humidity_percent,
        "walk_key": content.walk_key,
        "note": content.note,
    }


def correction_mark(
    stored: StoredCheck, *, now: datetime, recorded_by_id: int, reason: str
) -> VersionMark:
    """Return the mark of the version that follows the stored one."""
    return VersionMark(
        number=stored.version + 1,
        recorded_at=now,
        recorded_by_id=recorded_by_id,
        reason=reason,
    )


def counts_but(counts: Sequence[CheckCounts], *, stored: StoredCheck) -> tuple[CheckCounts, ...]:
    """Return the counts of a batch's other checks, without those of the stored one."""
    place = (stored.counts.checked_on, stored.counts.running)
    return tuple(
        check
        for check in counts
        if not check.is_check or (check.checked_on, check.running) != place
    )
