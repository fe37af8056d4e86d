"""The months on a method card: typed, kept for the northern half, turned for the southern."""

import re
from typing import Final

from app.domain.days import MONTHS
from app.domain.nursery import Hemisphere
from app.domain.problems import NotAccepted

YEAR: Final = 12
HALF_YEAR: Final = 6
SHORTEST_NAME: Final = 3

_EXAMPLE: Final = 'Give months such as "8-10", "aug to oct" or "11-2, 6".'
_RUN: Final = re.compile(r"(?P<first>[0-9a-z]+)\.?(?:\s*(?:-|–|to)\s*(?P<last>[0-9a-z]+)\.?)?")


def parse_months(text: str, *, field: str = "months") -> frozenset[int]:
    """Return the months typed as "8-10", "aug to oct" or "11-2, 6"; empty for a blank.

    Raises:
        NotAccepted: something in it is no month.
    """
    found: set[int] = set()
    for part in re.split(r"[,;]|\band\b", text.lower()):
        run = part.strip()
        if run:
            found |= _run(run, field=field)
    return frozenset(found)


def months_text(months: frozenset[int]) -> str:
    """Return the months as they are stored and typed, such as "8-10" or "11-2, 6"."""
    return ", ".join(
        str(first) if first == last else f"{first}-{last}" for first, last in _runs(months)
    )


def months_words(months: frozenset[int]) -> str:
    """Return the months in words, such as "August to October" or "all year"."""
    return "all year" if len(months) == YEAR else month_names(months)


def month_names(months: frozenset[int]) -> str:
    """Return the months by their names, as they can be typed again: "January to December"."""
    return ", ".join(
        _name(first) if first == last else f"{_name(first)} to {_name(last)}"
        for first, last in _runs(months)
    )


def turned(months: frozenset[int], *, hemisphere: Hemisphere) -> frozenset[int]:
    """Return northern months as a nursery of this half counts them; done twice it is undone."""
    if hemisphere is Hemisphere.NORTH:
        return months
    return frozenset((month - 1 + HALF_YEAR) % YEAR + 1 for month in months)


def _run(run: str, *, field: str) -> set[int]:
    typed = _RUN.fullmatch(run)
    first = _month(typed["first"]) if typed else None
    last = _month(typed["last"] or typed["first"]) if typed else None
    if first is None or last is None:
        raise NotAccepted.at(field, f'"{run}" is no month. {_EXAMPLE}')
    length = (last - first) % YEAR + 1
    return {(first - 1 + step) % YEAR + 1 for step in range(length)}


def _month(word: str) -> int | None:
    if word.isdigit():
        return int(word) if 1 <= int(word) <= YEAR else None
    if len(word) < SHORTEST_NAME:
        return None
    fitting = [
        number for number, name in enumerate(MONTHS, start=1) if name.lower().startswith(word)
    ]
    return fitting[0] if len(fitting) == 1 else None


def _runs(months: frozenset[int]) -> list[tuple[int, int]]:
    """Return (first, last) of each unbroken run, one across the year's end kept whole."""
    if len(months) == YEAR:
        return [(1, YEAR)]
    starts = sorted(month for month in months if (month - 2) % YEAR + 1 not in months)
    return [(start, _end(start, months)) for start in starts]


def _end(start: int, months: frozenset[int]) -> int:
    end = start
    while end % YEAR + 1 in months:
        end = end % YEAR + 1
    return end


def _name(month: int) -> str:
    return MONTHS[month - 1]
