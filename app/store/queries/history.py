"""Reading the history of one record, or of everything, with names put to the keys."""

import json
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import Row, Select, select
from sqlalchemy.orm import Session

from app.store.models.history import HistoryLine
from app.store.models.people import Person

ERASED: str = "somebody whose name was erased"
PROGRAM: str = "the program"


@dataclass(frozen=True, kw_only=True)
class FieldHistory:
    """What one field was and became, as text; blank for nothing."""

    field: str
    before: str
    after: str


@dataclass(frozen=True, kw_only=True)
class HistoryEntry:
    """One line of the history: the instant, its local day, who, what, on which record."""

    sequence: int
    happened_at: datetime
    happened_on: date
    who: str
    what: str
    subject: str
    changes: tuple[FieldHistory, ...]


def list_history(
    session: Session, *, subject: str, zone: str, limit: int = 200
) -> tuple[HistoryEntry, ...]:
    """Return the lines of one record, newest first; `subject` as it was written there."""
    query = _lines().where(HistoryLine.subject == subject).limit(limit)
    return tuple(_entry(row, zone) for row in session.execute(query))


def list_recent_history(
    session: Session, *, zone: str, before: int | None = None, limit: int = 100
) -> tuple[HistoryEntry, ...]:
    """Return the newest lines of everything, those below sequence `before` if given."""
    query = _lines().limit(limit)
    if before is not None:
        query = query.where(HistoryLine.sequence < before)
    return tuple(_entry(row, zone) for row in session.execute(query))


def _lines() -> Select[*tuple[Any, ...]]:
    line = HistoryLine
    return (
        select(
            line.sequence,
            line.at,
            line.what,
            line.subject,
            line.change,
            line.actor_key,
            Person.name,
        )
        .outerjoin(Person, Person.key == line.actor_key)
        .order_by(line.sequence.desc())
    )


def _entry(row: Row[*tuple[Any, ...]], zone: str) -> HistoryEntry:
    return HistoryEntry(
        sequence=row.sequence,
        happened_at=row.at,
        happened_on=row.at.astimezone(ZoneInfo(zone)).date(),
        who=(row.name or ERASED) if row.actor_key else PROGRAM,
        what=row.what,
        subject=row.subject,
        changes=_changes(row.change),
    )


def _changes(text: str) -> tuple[FieldHistory, ...]:
    changes = json.loads(text)
    return tuple(
        FieldHistory(field=_words(field), before=_text(pair[0]), after=_text(pair[1]))
        for field, pair in changes.items()
        if isinstance(pair, list) and len(pair) == 2
    )


def _words(field: str) -> str:
    return field.replace("_", " ")


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(_text(item) for item in value)
    return str(value)
