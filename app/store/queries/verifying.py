"""Reading what is stored twice, so that both can be compared; for `strikewell verify` alone."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from sqlalchemy import Select, and_, func, or_, select, text
from sqlalchemy.orm import Session, aliased

from app.store.models.batches import Batch, BatchFacts
from app.store.models.checks import Check, CheckLoss, CheckVersion
from app.store.models.history import HistoryLine
from app.store.models.hormones import HormoneRow
from app.store.models.meta import Meta
from app.store.models.mixes import MixLot
from app.store.models.stock_plants import StockPlant

CHUNK: Final = 500
_REPEATED: Final = ("checked_on", "kind", "rooted", "callused", "lost", "ending", "withdrawn")


@dataclass(frozen=True, kw_only=True)
class BatchHead:
    """What a batch says of itself and its ending."""

    id: int
    code: str
    year: int
    number: int
    stuck_on: date
    ending_kind: str
    ended_on: date | None


@dataclass(frozen=True, kw_only=True)
class RepeatedValue:
    """A value of a check that should equal the one of its newest version."""

    batch_code: str
    checked_on: date
    field: str
    stored: object
    expected: object


@dataclass(frozen=True, kw_only=True)
class StoredLine:
    """One line of the history with its hashes."""

    sequence: int
    at: datetime
    actor_key: str
    what: str
    subject: str
    change: str
    previous_hash: str
    hash: str


def list_broken_references(session: Session) -> tuple[str, ...]:
    """Return the tables with a row that points to nothing (SQLite)."""
    rows = session.execute(text("PRAGMA foreign_key_check")).all()
    return tuple(sorted({str(row[0]) for row in rows}))


def iterate_batches(session: Session) -> Iterator[tuple[BatchHead, ...]]:
    """Yield every batch, voided ones too, by id and in chunks."""
    columns = [getattr(Batch, name) for name in BatchHead.__dataclass_fields__]
    query = select(*columns).order_by(Batch.id).execution_options(yield_per=CHUNK)
    for rows in session.execute(query).partitions():
        yield tuple(BatchHead(**row._mapping) for row in rows)


def facts_by_batch(
    session: Session, *, batch_ids: Sequence[int]
) -> Mapping[int, Mapping[str, object]]:
    """Return the stored facts of these batches, each as column and value."""
    table = BatchFacts.__table__
    rows = session.execute(select(table).where(table.c.batch_id.in_(batch_ids)))
    return {row.batch_id: dict(row._mapping) for row in rows}


def ended_by_batch(session: Session, *, batch_ids: Sequence[int]) -> Mapping[int, int]:
    """Return how many went with the ending of each batch, as its checks keep it."""
    query = (
        select(Check.batch_id, func.sum(Check.ended))
        .where(Check.batch_id.in_(batch_ids), Check.withdrawn == 0)
        .group_by(Check.batch_id)
    )
    return {batch_id: int(ended) for batch_id, ended in session.execute(query)}


def list_facts_without_batch(session: Session) -> tuple[int, ...]:
    """Return the batch ids of facts whose batch does not exist."""
    known = select(Batch.id)
    return tuple(
        session.scalars(select(BatchFacts.batch_id).where(BatchFacts.batch_id.not_in(known)))
    )


def list_unlike_versions(session: Session) -> tuple[RepeatedValue, ...]:
    """Return the values of checks that differ from those of their newest version."""
    found = []
    for field in _REPEATED:
        stored, expected = getattr(Check, field), getattr(CheckVersion, field)
        query = _with_newest(
            select(Batch.code, Check.checked_on, stored.label("stored"), expected.label("expected"))
        ).where(or_(stored.is_distinct_from(expected), CheckVersion.id.is_(None)))
        found += [
            RepeatedValue(
                batch_code=row.code,
                checked_on=row.checked_on,
                field=field,
                stored=row.stored,
                expected=row.expected,
            )
            for row in session.execute(query)
        ]
    return tuple(found)


def list_unlike_losses(session: Session) -> tuple[RepeatedValue, ...]:
    """Return the versions of checks whose losses by cause do not sum to their lost."""
    by_cause = func.coalesce(func.sum(CheckLoss.number), 0)
    query = (
        select(Batch.code, CheckVersion.checked_on, CheckVersion.lost, by_cause.label("by_cause"))
        .join_from(CheckVersion, Check, Check.id == CheckVersion.check_id)
        .join(Batch, Batch.id == Check.batch_id)
        .outerjoin(CheckLoss, CheckLoss.check_version_id == CheckVersion.id)
        .group_by(CheckVersion.id, Batch.code, CheckVersion.checked_on, CheckVersion.lost)
        .having(by_cause != CheckVersion.lost)
    )
    return tuple(
        RepeatedValue(
            batch_code=row.code,
            checked_on=row.checked_on,
            field="lost",
            stored=row.lost,
            expected=row.by_cause,
        )
        for row in session.execute(query)
    )


def list_codes(session: Session) -> tuple[tuple[str, int, str], ...]:
    """Return (kind, number, code) of every stock plant and mix lot."""
    return tuple(
        (kind, number, code)
        for kind, model in (("stock plant", StockPlant), ("mix lot", MixLot))
        for number, code in session.execute(select(model.number, model.code))
    )


def list_hormones(session: Session) -> tuple[tuple[str, str, int, str], ...]:
    """Return (substance, form, ppm or -1, label) of every hormone."""
    columns = (HormoneRow.substance, HormoneRow.form, HormoneRow.ppm, HormoneRow.label)
    return tuple((row[0], row[1], row[2], row[3]) for row in session.execute(select(*columns)))


@dataclass(frozen=True, kw_only=True)
class OddRestuck:
    """A batch that cannot have been re-stuck from what it, or a check of another, says."""

    code: str
    parent_code: str
    reason: str
    checked_of: str = ""


def list_odd_restuck(session: Session) -> tuple[OddRestuck, ...]:
    """Return the live batches re-stuck from a void or later one, or not from where a check says."""
    parent = aliased(Batch)
    query = (
        select(Batch.code, parent.code.label("parent_code"), parent.voided_at)
        .join(parent, parent.id == Batch.restuck_from_id)
        .where(
            Batch.voided_at.is_(None),
            or_(parent.voided_at.is_not(None), parent.stuck_on > Batch.stuck_on),
        )
    )
    odd = [
        OddRestuck(
            code=row.code,
            parent_code=row.parent_code,
            reason="which was stuck later" if row.voided_at is None else "which is void",
        )
        for row in session.execute(query)
    ]
    into = aliased(Batch)
    named = _with_newest(select(into.code, Batch.code.label("parent_code"))).join(
        into, into.id == CheckVersion.restuck_into_id
    ).where(
        Check.withdrawn == 0,
        Batch.voided_at.is_(None),
        into.restuck_from_id.is_distinct_from(Batch.id),
    )  # fmt: skip
    odd += [
        OddRestuck(
            code=row.code,
            parent_code=row.parent_code,
            reason="but the batch does not",
            checked_of=row.parent_code,
        )
        for row in session.execute(named)
    ]
    return tuple(odd)


def iterate_history(session: Session) -> Iterator[StoredLine]:
    """Yield every line of the history in order."""
    table = HistoryLine.__table__
    query = select(table).order_by(table.c.sequence).execution_options(yield_per=CHUNK)
    for row in session.execute(query):
        yield StoredLine(**row._mapping)


def get_history_end(session: Session) -> tuple[int, str]:
    """Return the number of history lines and the newest hash, as the nursery's record has them."""
    row = session.execute(select(Meta.history_length, Meta.history_hash)).one()
    return row.history_length, row.history_hash


def _with_newest(query: Select[*tuple[Any, ...]]) -> Select[*tuple[Any, ...]]:
    newest = and_(CheckVersion.check_id == Check.id, CheckVersion.number == Check.version)
    return (
        query.select_from(Check)
        .join(Batch, Batch.id == Check.batch_id)
        .outerjoin(CheckVersion, newest)
    )
