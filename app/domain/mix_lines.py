"""How a recipe is typed, one ingredient to a line, and written back in the same form."""

import re
from collections.abc import Iterator
from typing import Final

from app.domain.mixes import LINE_EXAMPLE, ROUNDING_PERCENT, MixPart
from app.domain.problems import NotAccepted

_NUMBER: Final = r"(?:[0-9]+\s*/\s*[0-9]+|[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
_UNIT: Final = r"(?P<unit>%|percent|per cent|parts?(?:\s+of)?)?"
_NAME_FIRST: Final = re.compile(
    rf"(?P<name>.+?)\s*(?:[:=]|,(?=\s)|(?<![0-9]),)\s*(?P<number>{_NUMBER})\s*{_UNIT}",
    re.IGNORECASE,
)
_NUMBER_FIRST: Final = re.compile(
    rf"(?P<number>{_NUMBER})\s*{_UNIT}\s+(?P<name>\S.*)", re.IGNORECASE
)
_NUMBER_LAST: Final = re.compile(
    rf"(?P<name>.*\S)\s+(?P<number>{_NUMBER})\s*{_UNIT}", re.IGNORECASE
)
_EQUAL: Final = re.compile(
    r"equal\s+parts\s+(?:of\s+)?(?P<first>.+)|(?P<last>.+?)\s*,?\s*(?:in\s+)?equal\s+parts",
    re.IGNORECASE,
)
_BETWEEN: Final = re.compile(r"\s*,\s*(?:and\s+)?|\s+and\s+", re.IGNORECASE)


def parse_parts(text: str, *, field: str = "parts") -> tuple[MixPart, ...]:
    """Return the recipe typed as lines such as "bark 3", "2 parts perlite" or "peat: 50 %".

    A line "equal parts perlite and compost" stands for one part of each. Percentages are kept as
    parts and must come to 100, within half a per cent.

    Raises:
        NotAccepted: a line names no ingredient or no number, percentages and parts are mixed, or
            the percentages do not come to 100.
    """
    lines = [" ".join(line.split()) for line in re.split(r"[\n;]", text)]
    read = [part for line in lines if line for part in _read(line, field=field)]
    units = {unit for _, unit in read}
    if len(units) > 1:
        raise NotAccepted.at(field, "Give all of them in parts or all of them in per cent.")
    parts = tuple(part for part, _ in read)
    total = sum(part.parts for part in parts)
    if units == {"%"} and abs(total - 100) > ROUNDING_PERCENT:
        raise NotAccepted.at(field, f"The percentages come to {total:g}, not to 100: look again.")
    return parts


def parts_lines(parts: tuple[MixPart, ...]) -> str:
    """Return the recipe as it can be typed: one line for each ingredient."""
    return "\n".join(f"{part.ingredient}, {part.parts:g}" for part in parts)


def parts_line(parts: tuple[MixPart, ...]) -> str:
    """Return the recipe as it can be typed into one cell, its numbers to the last digit."""
    return "; ".join(
        f"{part.ingredient}, {int(part.parts) if part.parts.is_integer() else part.parts!r}"
        for part in parts
    )


def _read(line: str, *, field: str) -> Iterator[tuple[MixPart, str]]:
    if equal := _EQUAL.fullmatch(line):
        for name in _BETWEEN.split(equal["first"] or equal["last"]):
            yield MixPart(ingredient=name, parts=1.0), "parts"
        return
    typed = (
        _NAME_FIRST.fullmatch(line) or _NUMBER_FIRST.fullmatch(line) or _NUMBER_LAST.fullmatch(line)
    )
    if typed is None:
        raise NotAccepted.at(field, f'No number of parts in "{line}". {LINE_EXAMPLE}')
    percent = (typed["unit"] or "").lower().startswith(("%", "per"))
    part = MixPart(ingredient=typed["name"].strip(), parts=_number(typed["number"], field=field))
    yield part, "%" if percent else "parts"


def _number(text: str, *, field: str) -> float:
    above, slash, below = text.replace(" ", "").replace(",", ".").partition("/")
    if slash and int(below) == 0:
        raise NotAccepted.at(field, f'"{text}" is no number of parts. {LINE_EXAMPLE}')
    return float(above) / (int(below) if slash else 1)
