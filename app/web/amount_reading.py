"""Reading amounts that are typed with their unit: litres, millilitres, per cent."""

import re
from typing import Final

from app.domain.measures import parse_measure
from app.domain.problems import NotAccepted

_LITRES: Final = re.compile(r"(.*[0-9])\s*(?:l|litres?|liters?)", re.IGNORECASE)
_MOST_ML: Final = 1_000_000


def bare_litres(text: str | None) -> str:
    """Return the number of litres without the unit typed behind it."""
    typed = _LITRES.fullmatch((text or "").strip())
    return typed[1] if typed else text or ""


def read_positive(text: str, *, field: str, unit: str) -> float | None:
    """Return an amount above 0, None for a blank.

    Raises:
        NotAccepted: not a number above 0, or too much.
    """
    value = parse_measure(text, field=field, low=0, high=_MOST_ML, unit=unit)
    if value == 0:
        raise NotAccepted.at(field, f"Give {unit} above 0.")
    return value


def read_percent(text: str, *, field: str, low: float = 0, high: float = 100) -> float | None:
    """Return per cent from `low` to `high`, None for a blank.

    Raises:
        NotAccepted: not such a number.
    """
    return parse_measure(text, field=field, low=low, high=high, unit="%")


def read_volume_ml(text: str, *, field: str) -> float:
    """Return ml above 0, typed in ml or litres.

    Raises:
        NotAccepted: nothing, not a number above 0, or too much.
    """
    litres = _LITRES.fullmatch(text.strip())
    if litres and not text.strip().lower().endswith("ml"):
        value = parse_measure(litres[1], field=field, low=0, high=1000, unit="litres")
        value = None if value is None else value * 1000
    else:
        value = parse_measure(text, field=field, low=0, high=_MOST_ML, unit="ml")
    if not value:
        raise NotAccepted.at(field, 'Say how much, more than 0, such as "500 ml" or "1 l".')
    return value
