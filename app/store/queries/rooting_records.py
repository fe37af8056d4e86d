"""Reading what the batches of one genus and type showed of their days to root."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import and_, select
from sqlalchemy.orm import Session

from app.domain.thermal_times import Reading
from app.stats.histories import Histories
from app.store.models.batches import Batch
from app.store.models.checks import Check, CheckVersion
from app.store.queries.fit_records import read_fit_records

_CHUNK = 500


@dataclass(frozen=True, kw_only=True)
class RootingRecords:
    """The batches of a group: counts, codes, and readings of the medium, in one order."""

    histories: Histories
    codes: tuple[str, ...]
    readings: tuple[tuple[Reading, ...], ...]


def read_rooting_records(
    session: Session, *, genus_id: int, cutting_type: str | None
) -> RootingRecords:
    """Return the records of a genus and type ("" for not recorded), or of every type for None.

    Void and re-stuck batches are left out.
    """
    records = read_fit_records(session, genus_id=genus_id, cutting_type=cutting_type)
    batch_ids = [int(batch_id) for batch_id in records.batch_ids]
    named = _named(session, batch_ids)
    readings = _readings(session, batch_ids, stuck_on={key: on for key, (_, on) in named.items()})
    return RootingRecords(
        histories=records.histories,
        codes=tuple(named[batch_id][0] for batch_id in batch_ids),
        readings=tuple(tuple(readings.get(batch_id, ())) for batch_id in batch_ids),
    )


def _named(session: Session, batch_ids: Sequence[int]) -> dict[int, tuple[str, date]]:
    found: dict[int, tuple[str, date]] = {}
    for start in range(0, len(batch_ids), _CHUNK):
        query = select(Batch.id, Batch.code, Batch.stuck_on).where(
            Batch.id.in_(batch_ids[start : start + _CHUNK])
        )
        found |= {row.id: (row.code, row.stuck_on) for row in session.execute(query)}
    return found


def _readings(
    session: Session, batch_ids: Sequence[int], *, stuck_on: Mapping[int, date]
) -> dict[int, list[Reading]]:
    """Return the temperatures of the medium noted at checks, by batch and day."""
    newest = and_(CheckVersion.check_id == Check.id, CheckVersion.number == Check.version)
    found: dict[int, list[Reading]] = {}
    for start in range(0, len(batch_ids), _CHUNK):
        query = (
            select(Check.batch_id, Check.checked_on, CheckVersion.medium_c)
            .join(CheckVersion, newest)
            .where(
                Check.batch_id.in_(batch_ids[start : start + _CHUNK]),
                Check.withdrawn == 0,
                CheckVersion.medium_c.is_not(None),
            )
            .order_by(Check.batch_id, Check.checked_on, Check.running)
        )
        for row in session.execute(query):
            age = (row.checked_on - stuck_on[row.batch_id]).days
            reading = Reading(age_days=age, medium_c=row.medium_c)
            found.setdefault(row.batch_id, []).append(reading)
    return found
