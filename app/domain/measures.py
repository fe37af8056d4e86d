"""Measured numbers as people type them: litres, centimetres, degrees, per cent."""

import re
from typing import Final

from app.domain.problems import NotAccepted

_NUMBER: Final = re.compile(r"(?P<sign>[-−–]?)\s*(?P<digits>[0-9]*(?:[.,][0-9]+)?|[0-9]+)")
_THOUSANDS: Final = re.compile(r"(?<=[0-9])[ ,](?=[0-9]{3}(?:[^0-9]|$))")
_WITH_UNIT: Final = re.compile(
    r"(?P<number>[0-9.,]+)\s*(?P<unit>h|hrs?|hours?|d|days?|w|wks?|weeks?)", re.IGNORECASE
)
_HOURS_IN: Final = {"h": 1, "d": 24, "w": 168}
_RANGE: Final = re.compile(r"(?P<low>[^-–−]+?)\s*(?:-|–|−|\bto\b)\s*(?P<high>[^-–−]+)")


def parse_measure(
    text: str, *, field: str, low: float, high: float, unit: str = ""
) -> float | None:
    """Return the number typed as "12", "1.5", "1,5", "1,200" or "20 °C", None for a blank.

    The unit may be typed behind it. A comma before exactly three figures parts thousands.

    Raises:
        NotAccepted: not a number, or not from `low` to `high`.
    """
    line = text.strip()
    if not line:
        return None
    wanted = f"Give a number{f' in {unit}' if unit else ''}, from {low:,.15g} to {high:,.15g}."
    if unit and line.lower().endswith(unit.lower()):
        line = line[: -len(unit)].rstrip()
    typed = _NUMBER.fullmatch(_THOUSANDS.sub("", line))
    if typed is None or not typed["digits"]:
        raise NotAccepted.at(field, wanted)
    value = float(typed["digits"].replace(",", ".")) * (-1 if typed["sign"] else 1)
    if not low <= value <= high:
        raise NotAccepted.at(field, wanted)
    return value


def parse_hours(text: str, *, field: str, low: float, high: float) -> float | None:
    """Return the hours typed as "5", "36 hours", "3 days" or "2 weeks", None for a blank.

    Raises:
        NotAccepted: not a number of hours, days or weeks, or not from `low` to `high` hours.
    """
    typed = _WITH_UNIT.fullmatch(text.strip())
    size = _HOURS_IN[typed["unit"][0].lower()] if typed else 1
    number = typed["number"] if typed else text
    try:
        value = parse_measure(number, field=field, low=low / size, high=high / size)
    except NotAccepted:
        sentence = (
            f"Give hours, days or weeks, such as 5, 3 days or 2 weeks, up to {high:,g} hours."
        )
        raise NotAccepted.at(field, sentence) from None
    return None if value is None else value * size


def hours_words(hours: float) -> str:
    """Return hours as they would be typed: "36", or "3 days" and "2 weeks" where it comes out."""
    for size, word in ((168, "week"), (24, "day")):
        number = hours / size
        if number >= 2 and number == int(number):
            return f"{number:g} {word}s"
    return f"{hours:g}"


def parse_span(
    text: str, *, field: str, low: float, high: float, unit: str = ""
) -> tuple[float, float] | None:
    """Return (lower, upper) typed as "4 to 6", "4-6" or "5", None for a blank.

    Raises:
        NotAccepted: not a number or a span, out of range, or the lower end above the upper.
    """
    line = text.strip()
    if unit and line.lower().endswith(unit.lower()):
        line = line[: -len(unit)].rstrip()
    typed = _RANGE.fullmatch(line)
    ends = (typed["low"], typed["high"]) if typed else (line, line)
    values = [parse_measure(end, field=field, low=low, high=high, unit=unit) for end in ends]
    first, last = values
    if first is None or last is None:
        return None
    if first > last:
        raise NotAccepted.at(field, "Give the lower number first, such as 4 to 6.")
    return first, last


def span_words(*, low: float | None, high: float | None, unit: str = "") -> str:
    """Return "4 to 6 weeks", "1 week", or "" where neither end is known."""
    known = [f"{value:,g}" for value in (low, high) if value is not None]
    if not known:
        return ""
    ends = known if len(set(known)) > 1 else known[:1]
    if ends == ["1"]:
        unit = unit.removesuffix("s")
    return f"{' to '.join(ends)} {unit}".strip()
