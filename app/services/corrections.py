"""Correcting a stored record: compare versions, set what differs, say what was before.

One way for every editable record, so that no edit overwrites another silently.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from app.domain.problems import ChangedMeanwhile, FieldChange
from app.services.history import JsonValue
from app.store.versioned import Versioned


def plain_value(value: object) -> JsonValue:
    """Return a column's value as history holds it: dates in ISO form, the rest as it is."""
    if isinstance(value, date | datetime):
        return value.isoformat()
    if value is None or isinstance(value, str | int | float | bool):
        return value
    if isinstance(value, list | tuple):
        return [plain_value(item) for item in value]
    return str(value)


@dataclass(frozen=True, kw_only=True)
class NamedColumn:
    """A column that points to another record: what the history calls it, and that one's label."""

    field: str
    model: type[Any]
    label: str


def named_changes(
    session: Session, *, row: Any, after: Mapping[str, Any], named: Mapping[str, NamedColumn]
) -> dict[str, JsonValue]:
    """Return {field: [before, after]} of what differs, other records by their name or code."""
    told: dict[str, JsonValue] = {}
    for column, value in after.items():
        before = getattr(row, column)
        if before == value:
            continue
        other = named.get(column)
        if other is None:
            told[column] = [plain_value(before), plain_value(value)]
            continue
        told[other.field] = [
            None
            if row_id is None
            else plain_value(getattr(session.get_one(other.model, row_id), other.label))
            for row_id in (before, value)
        ]
    return told


def correct_row(row: Versioned, *, version: int, after: Mapping[str, Any]) -> dict[str, JsonValue]:
    """Set the columns named in `after` and return {column: [before, after]} of those that differ.

    The caller flushes and writes the history line; an empty answer means nothing to write.

    Raises:
        ChangedMeanwhile: the row is no longer at `version`; nothing was set.
    """
    before = {column: getattr(row, column) for column in after}
    changes: dict[str, JsonValue] = {
        column: [plain_value(before[column]), plain_value(value)]
        for column, value in after.items()
        if before[column] != value
    }
    refuse_stale(row, version=version, changes=changes)
    for column in changes:
        setattr(row, column, after[column])
    return changes


def refuse_stale(row: Versioned, *, version: int, changes: Mapping[str, JsonValue]) -> None:
    """Refuse an edit that was begun on another version than the stored one.

    `changes` maps a field to [as it stands, as wanted].

    Raises:
        ChangedMeanwhile: the row is no longer at `version`.
    """
    if row.version == version:
        return
    pairs = ((field, pair) for field, pair in changes.items() if isinstance(pair, list))
    words = tuple(
        FieldChange(field=field, now=in_words(pair[0]), wanted=in_words(pair[1]))
        for field, pair in pairs
    )
    raise ChangedMeanwhile(version=row.version, changes=words)


def in_words(value: object) -> str:
    """Return a value as the page of two versions shows it."""
    if value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(plain_value(value))
