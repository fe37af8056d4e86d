"""Correcting a stored record: compare versions, set what differs, say what was before.

One way for every editable record, so that no edit overwrites another silently.
"""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

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
    if row.version != version:
        words = tuple(
            FieldChange(field=column, now=in_words(before[column]), wanted=in_words(after[column]))
            for column in changes
        )
        raise ChangedMeanwhile(version=row.version, changes=words)
    for column in changes:
        setattr(row, column, after[column])
    return changes


def in_words(value: object) -> str:
    """Return a value as the page of two versions shows it."""
    if value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(plain_value(value))
