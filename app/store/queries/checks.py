"""Reading checks: their counts for working out where a batch stands, and their whole story."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Row, Select, and_, select
from sqlalchemy.orm import Session, aliased

from app.domain.outcomes import CheckCounts, CheckKind, Ending, Loss
from app.domain.problems import NotFound
from app.store.models.batch_ways import CheckPlantlets
from app.store.models.batches import Batch
from app.store.models.checks import Check, CheckLoss, CheckVersion
from app.store.models.lost_causes import LostCause
from app.store.models.people import Person
from app.store.queries.restuck import restuck_by_batch

_CHUNK = 500


@dataclass(frozen=True, kw_only=True)
class StoredCheck:
    """One version of a check, with names in place of numbers.

    `counts` is what it found, `ended` how many went with its ending, `recorded_by_id` who
    recorded this version, `first_recorded_by_id` whose entry the check is.
    """

    id: int
    batch_id: int
    batch_code: str
    number: int
    version: int
    counts: CheckCounts
    ended: int
    typed_as: str
    unrooted_counted: int | None
    rooted_means: str
    medium_c: float | None
    humidity_percent: float | None
    walk_key: str
    note: str
    reason: str
    checked_by_id: int | None
    checked_by: str
    recorded_by_id: int | None
    recorded_by: str
    recorded_at: datetime
    restuck_into_id: int | None
    restuck_into: str
    first_recorded_by_id: int | None
    plantlets: int | None = None

    @property
    def is_current(self) -> bool:
        """Whether this version is the newest one."""
        return self.number == self.version


def counts_by_batch(
    session: Session, *, batch_ids: Iterable[int]
) -> Mapping[int, tuple[CheckCounts, ...]]:
    """Return the counts of every check of each batch, withdrawn ones too, by batch id.

    Losses stand under their causes. What was re-stuck from a batch is among them. A batch with
    neither has no entry.
    """
    wanted = sorted(set(batch_ids))
    found: dict[int, list[CheckCounts]] = {}
    for start in range(0, len(wanted), _CHUNK):
        chunk = wanted[start : start + _CHUNK]
        query = _newest_counts().where(Check.batch_id.in_(chunk))
        rows = session.execute(query).all()
        losses = _losses(session, [row.version_id for row in rows])
        for row in rows:
            counts = _counts(row, lost=losses.get(row.version_id, ()))
            found.setdefault(row.batch_id, []).append(counts)
    for batch_id, moved in restuck_by_batch(session, batch_ids=wanted).items():
        found.setdefault(batch_id, []).extend(moved)
    return {batch_id: tuple(checks) for batch_id, checks in found.items()}


def list_checks(session: Session, *, batch_id: int) -> tuple[StoredCheck, ...]:
    """Return the newest version of every check of a batch, by day, withdrawn ones too."""
    query = (
        _stories()
        .where(Check.batch_id == batch_id, CheckVersion.number == Check.version)
        .order_by(Check.checked_on, Check.running)
    )
    return _told(session, query)


def checks_by_id(session: Session, *, check_ids: Iterable[int]) -> Mapping[int, StoredCheck]:
    """Return the newest version of each check named, by its id."""
    wanted = sorted(set(check_ids))
    found: dict[int, StoredCheck] = {}
    for start in range(0, len(wanted), _CHUNK):
        chunk = wanted[start : start + _CHUNK]
        query = _stories().where(Check.id.in_(chunk), CheckVersion.number == Check.version)
        found |= {check.id: check for check in _told(session, query)}
    return found


def list_check_versions(session: Session, *, check_id: int) -> tuple[StoredCheck, ...]:
    """Return every version of one check, the newest first."""
    query = _stories().where(Check.id == check_id).order_by(CheckVersion.number.desc())
    return _told(session, query)


def get_check(session: Session, *, check_id: int) -> StoredCheck:
    """Return the newest version of one check.

    Raises:
        NotFound: there is no such check.
    """
    query = _stories().where(Check.id == check_id, CheckVersion.number == Check.version)
    found = _told(session, query)
    if not found:
        raise NotFound("There is no such check.")
    return found[0]


def list_walk(session: Session, *, walk_key: str) -> tuple[StoredCheck, ...]:
    """Return the looks of one walk along a bench, by batch."""
    query = (
        _stories()
        .where(CheckVersion.walk_key == walk_key, CheckVersion.number == Check.version)
        .order_by(Batch.year, Batch.number)
    )
    return _told(session, query)


def _newest_counts() -> Select[*tuple[Any, ...]]:
    newest = and_(CheckVersion.check_id == Check.id, CheckVersion.number == Check.version)
    return (
        select(
            Check.batch_id,
            Check.checked_on,
            Check.running,
            Check.withdrawn,
            CheckVersion.id.label("version_id"),
            CheckVersion.kind,
            CheckVersion.rooted,
            CheckVersion.callused,
            CheckVersion.sample_of,
            CheckVersion.sample_rooted,
            CheckVersion.ending,
        )
        .join(CheckVersion, newest)
        .order_by(Check.batch_id, Check.checked_on, Check.running)
    )


def _stories() -> Select[*tuple[Any, ...]]:
    checker, recorder = aliased(Person), aliased(Person)
    first = aliased(CheckVersion)
    into, columns = aliased(Batch), CheckVersion.__table__.c
    return (
        select(
            *(column for column in columns if column.name not in {"id", "checked_on"}),
            columns.id.label("version_id"),
            columns.checked_on,
            Check.batch_id,
            Check.running,
            Check.version,
            Batch.code.label("batch_code"),
            checker.name.label("checked_by"),
            recorder.name.label("recorded_by"),
            into.code.label("restuck_into"),
            first.recorded_by_id.label("first_recorded_by_id"),
            CheckPlantlets.plantlets,
        )
        .join_from(CheckVersion, Check, Check.id == CheckVersion.check_id)
        .join(Batch, Batch.id == Check.batch_id)
        .join(first, and_(first.check_id == Check.id, first.number == 1))
        .outerjoin(checker, checker.id == CheckVersion.checked_by_id)
        .outerjoin(recorder, recorder.id == CheckVersion.recorded_by_id)
        .outerjoin(into, into.id == CheckVersion.restuck_into_id)
        .outerjoin(CheckPlantlets, CheckPlantlets.check_version_id == CheckVersion.id)
    )


def _told(session: Session, query: Select[*tuple[Any, ...]]) -> tuple[StoredCheck, ...]:
    rows = session.execute(query).all()
    losses = _losses(session, [row.version_id for row in rows])
    return tuple(_story(row, lost=losses.get(row.version_id, ())) for row in rows)


def _losses(session: Session, version_ids: list[int]) -> Mapping[int, tuple[Loss, ...]]:
    found: dict[int, list[Loss]] = {}
    for start in range(0, len(version_ids), _CHUNK):
        chunk = version_ids[start : start + _CHUNK]
        query = (
            select(CheckLoss.check_version_id, LostCause.name, CheckLoss.number)
            .join(LostCause, LostCause.id == CheckLoss.lost_cause_id)
            .where(CheckLoss.check_version_id.in_(chunk))
            .order_by(CheckLoss.check_version_id, LostCause.position, LostCause.id)
        )
        for version_id, cause, number in session.execute(query):
            found.setdefault(version_id, []).append(Loss(cause=cause, number=number))
    return {version_id: tuple(losses) for version_id, losses in found.items()}


def _counts(row: Row[tuple[object, ...]], *, lost: tuple[Loss, ...]) -> CheckCounts:
    kind = CheckKind(row.kind)
    is_sample = kind is CheckKind.SAMPLE
    checked_on: date = row.checked_on
    return CheckCounts(
        checked_on=checked_on,
        running=row.running,
        kind=kind,
        rooted=(row.sample_rooted or 0) if is_sample else row.rooted,
        lost=lost,
        callused=row.callused,
        looked=row.sample_of if is_sample else None,
        ending=Ending(row.ending),
        withdrawn=bool(row.withdrawn),
    )


def _story(row: Row[tuple[object, ...]], *, lost: tuple[Loss, ...]) -> StoredCheck:
    return StoredCheck(
        id=row.check_id,
        batch_id=row.batch_id,
        batch_code=row.batch_code,
        number=row.number,
        version=row.version,
        counts=_counts(row, lost=lost),
        ended=row.ended,
        typed_as=row.typed_as,
        unrooted_counted=row.unrooted_counted,
        rooted_means=row.rooted_means,
        medium_c=row.medium_c,
        humidity_percent=row.humidity_percent,
        walk_key=row.walk_key,
        note=row.note,
        reason=row.reason,
        checked_by_id=row.checked_by_id,
        checked_by=row.checked_by or "",
        recorded_by_id=row.recorded_by_id,
        recorded_by=row.recorded_by or "",
        recorded_at=row.recorded_at,
        restuck_into_id=row.restuck_into_id,
        restuck_into=row.restuck_into or "",
        first_recorded_by_id=row.first_recorded_by_id,
        plantlets=row.plantlets,
    )
