"""Reading a batch back as it was entered, for correcting it and for entering another like it."""

from collections.abc import Mapping
from dataclasses import fields
from typing import Any, Final

from sqlalchemy import RowMapping, select
from sqlalchemy.orm import Session

from app.domain.batch_rules import SOURCE_WORDS
from app.domain.batches import BatchEntry, SourceKind, SourceLine
from app.domain.cutting_types import Cut, CuttingType, Section
from app.domain.hormones import Hormone
from app.domain.problems import NotFound
from app.store.models.batches import Batch, BatchSource
from app.store.models.hormones import HormoneRow
from app.store.queries.batch_ways import get_way_details

_NOT_STORED: Final = frozenset({"sources", "hormone", "hold_reason", "rights_reason", "details"})
STORED_FIELDS: Final = tuple(
    field.name for field in fields(BatchEntry) if field.name not in _NOT_STORED
)
"""The fields of an entry that are columns of `batches` under the same name."""

_WORDS: Final[Mapping[str, Any]] = {"cutting_type": CuttingType, "cut": Cut, "section": Section}


def get_batch_entry(session: Session, *, batch_id: int) -> BatchEntry:
    """Return the batch as it would be entered now.

    Raises:
        NotFound: there is no such batch.
    """
    columns = [*Batch.__table__.columns]
    query = (
        select(*columns, HormoneRow.substance, HormoneRow.form, HormoneRow.ppm)
        .outerjoin(HormoneRow, HormoneRow.id == Batch.hormone_id)
        .where(Batch.id == batch_id)
    )
    row = session.execute(query).mappings().one_or_none()
    if row is None:
        raise NotFound("There is no such batch.")
    values = {name: _value(name, row[name]) for name in STORED_FIELDS}
    return BatchEntry(
        **values,
        hormone=_hormone(row),
        sources=_sources(session, batch_id=batch_id),
        details=get_way_details(session, batch_id=batch_id),
    )


def _value(name: str, stored: Any) -> Any:
    if name in _WORDS:
        return _WORDS[name](stored) if stored else None
    return tuple(stored) if name == "taken_over" else stored


def _hormone(row: RowMapping) -> Hormone | None:
    if row["substance"] is None:
        return None
    ppm = None if row["ppm"] < 0 else row["ppm"]
    return Hormone(substance=row["substance"], form=row["form"], ppm=ppm)


def _sources(session: Session, *, batch_id: int) -> tuple[SourceLine, ...]:
    query = (
        select(BatchSource.__table__)
        .where(BatchSource.batch_id == batch_id)
        .order_by(BatchSource.position)
    )
    return tuple(
        SourceLine(
            kind=SourceKind(row.kind),
            stock_plant_id=row.stock_plant_id,
            **{name: row._mapping[name] for name in SOURCE_WORDS},
            number=row.number,
        )
        for row in session.execute(query)
    )
