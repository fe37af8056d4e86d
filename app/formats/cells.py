"""Values of cells: what may be written to a sheet, and how each reads as typed text."""

from datetime import date, datetime, time, timedelta
from typing import TypeAlias

Cell: TypeAlias = str | int | float | date | datetime | None


def typed_text(value: Cell | time | timedelta) -> str:
    """Return the value as a person would type it.

    Whole numbers have no decimals, days are ISO dates, instants keep their time, truth is "yes"
    or "no", nothing is "".
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return _number_text(value)
    if isinstance(value, datetime):
        at_midnight = value.time() == time() and value.tzinfo is None
        return value.date().isoformat() if at_midnight else value.isoformat(sep=" ")
    if isinstance(value, date):
        return value.isoformat()
    return str(value)


def _number_text(value: float) -> str:
    return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
