"""What one cell of a notebook sheet may say, and what to put there when it says something else."""

import re
from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from typing import Final, TypeVar

from app.domain.batches import USUAL_COVERS
from app.domain.cutting_types import Cut, CuttingType
from app.domain.days import EARLIEST, day_long, parse_day
from app.domain.hormones import HIGHEST_PPM, NO_HORMONE, Hormone, parse_hormone
from app.domain.lost_causes import cause_name
from app.domain.outcomes import CheckKind, Ending
from app.domain.problems import NotAccepted
from app.domain.quantities import MOST_CUTTINGS, parse_quantity

LONGEST_NAME: Final = 80
LONGEST_TEXT: Final = 200
LONGEST_REFERENCE: Final = 60
_ISO: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_HAS_YEAR: Final = re.compile(
    r"[0-9]{4}|[0-9]{1,2}\s*[-./ ]\s*[0-9]{1,2}\s*[-./ ]\s*[0-9]{2}|[a-z]{3,}[-., ]*[0-9]{2}$"
)
_WHOLE: Final = re.compile(r"[0-9]{1,7}")
_WITH_NOUGHTS: Final = re.compile(r"([0-9]{1,7})[.,]0+")
_DEGREES: Final = re.compile(r"(-?[0-9]{1,3}(?:[.,][0-9]+)?)\s*(?:°\s*)?c?", re.IGNORECASE)

_Choice = TypeVar("_Choice", bound=StrEnum)
_KINDS: Final[Mapping[str, CheckKind]] = {
    "": CheckKind.COUNTED,
    "counted": CheckKind.COUNTED,
    "count": CheckKind.COUNTED,
    "sample": CheckKind.SAMPLE,
    "looked only": CheckKind.LOOKED_ONLY,
    "looked": CheckKind.LOOKED_ONLY,
    "look": CheckKind.LOOKED_ONLY,
}
_ENDINGS: Final[Mapping[str, Ending]] = {str(ending): ending for ending in Ending}
_TYPES: Final[Mapping[str, CuttingType]] = {
    str(kind).replace("-", " "): kind for kind in CuttingType
}
_CUTS: Final[Mapping[str, Cut]] = {str(cut): cut for cut in Cut}


def tidy(text: str) -> str:
    """Return the text with single spaces and none at its ends."""
    return " ".join(text.split())


def read_day(text: str, *, column: str, today: date) -> date:
    """Return the day written as 2026-05-03 or day first, with its year.

    Raises:
        NotAccepted: it is no day, has no year, or is still to come.
    """
    if _ISO.fullmatch(text):
        try:
            day = date.fromisoformat(text)
        except ValueError as error:
            raise NotAccepted.at(column, _no_day(text)) from error
    elif _HAS_YEAR.search(text.casefold()):
        day = _day_first(text, column=column, today=today)
    else:
        raise NotAccepted.at(column, _no_day(text))
    if day > today:
        raise NotAccepted.at(column, f"{day_long(day)} is still to come. Put a day up to today.")
    if day < EARLIEST:
        raise NotAccepted.at(column, f"Put a day from {EARLIEST.year} on.")
    return day


def read_number(text: str, *, column: str, least: int = 0, most: int = MOST_CUTTINGS) -> int:
    """Return the whole number written as 240, 1,020 or 240.0.

    Raises:
        NotAccepted: it is no whole number, or out of bounds.
    """
    if not _WHOLE.fullmatch(text):
        noughts = _WITH_NOUGHTS.fullmatch(text)
        text = noughts[1] if noughts else str(_bare(text, column=column))
    number = int(text)
    if not least <= number <= most:
        sentence = f"{number:,} cannot be. Put a whole number from {least:,} to {most:,}."
        raise NotAccepted.at(column, sentence)
    return number


def read_degrees(text: str, *, column: str) -> float:
    """Return the temperature in °C written as 21, 21.5 or 21,5 °C.

    Raises:
        NotAccepted: it is no number.
    """
    typed = _DEGREES.fullmatch(text)
    if typed is None:
        raise NotAccepted.at(column, f"“{text}” is no temperature. Put °C as a number, such as 21.")
    return float(typed[1].replace(",", "."))


def read_cutting_type(text: str) -> CuttingType:
    """Return the cutting type; "semi ripe" and "Root cuttings" are understood.

    Raises:
        NotAccepted: there is no such type.
    """
    bare = re.sub(r"\s+cuttings?$", "", _folded(text))
    return _choose(bare, column="cutting_type", choices=_TYPES, typed=text)


def read_cut(text: str) -> Cut:
    """Return where the base was cut.

    Raises:
        NotAccepted: there is no such cut.
    """
    return _choose(_folded(text), column="cut", choices=_CUTS, typed=text)


def read_kind(text: str) -> CheckKind:
    """Return the kind of check; a blank is counted.

    Raises:
        NotAccepted: there is no such kind.
    """
    return _choose(_folded(text), column="kind", choices=_KINDS, typed=text)


def read_ending(text: str) -> Ending:
    """Return what became of the rest; a blank is no ending.

    Raises:
        NotAccepted: there is no such ending.
    """
    return _choose(_folded(text), column="ending", choices=_ENDINGS, typed=text)


def read_name(text: str, *, column: str, longest: int = LONGEST_NAME) -> str:
    """Return a name of something with single spaces.

    Raises:
        NotAccepted: it is too long or cannot be printed.
    """
    name = tidy(text)
    if len(name) > longest or not name.isprintable():
        raise NotAccepted.at(column, f"Put a name of at most {longest} letters here.")
    return name


def read_names(text: str, *, column: str) -> tuple[str, ...]:
    """Return the names divided by + or ; in the cell, each once, in their order.

    Raises:
        NotAccepted: one is too long or cannot be printed.
    """
    parts = (read_name(part, column=column) for part in re.split(r"[+;]", text))
    return tuple(dict.fromkeys(part for part in parts if part))


def read_note(text: str, *, longest: int) -> str:
    """Return the note as it was typed.

    Raises:
        NotAccepted: it is too long.
    """
    if len(text) > longest:
        raise NotAccepted.at("note", f"Keep the note within {longest:,} letters.")
    return text


def read_cover(text: str) -> str:
    """Return the cover, in the usual spelling where it is a usual one.

    Raises:
        NotAccepted: it is too long.
    """
    name = read_name(text, column="cover", longest=LONGEST_TEXT)
    return name.casefold() if name.casefold() in USUAL_COVERS else name


def read_cause(text: str) -> str:
    """Return a cause of loss as it is kept.

    Raises:
        NotAccepted: it is too short or too long.
    """
    return cause_name(text, field="lost_cause")


def read_hormone(text: str, *, form: str, ppm: str) -> Hormone | None:
    """Return the hormone of the three columns; "none" is none used, all blank is not recorded.

    The first column may also hold the whole line, such as "IBA talc 1000 ppm".

    Raises:
        NotAccepted: form or strength stand without a substance, or contradict the first column.
    """
    try:
        named = parse_hormone(text, field="hormone")
    except NotAccepted as refusal:
        sentence = f"{refusal} Or put IBA here, talc under hormone_form, 1000 under hormone_ppm."
        raise NotAccepted.at("hormone", sentence) from refusal
    strength = read_number(ppm, column="hormone_ppm", most=HIGHEST_PPM) if ppm else None
    if named is None:
        if form or ppm:
            sentence = "Put the substance here, such as IBA, or clear its form and strength."
            raise NotAccepted.at("hormone", sentence)
        return None
    if named.substance == NO_HORMONE:
        if form or strength:
            sentence = "None was used, so leave hormone_form and hormone_ppm blank."
            raise NotAccepted.at("hormone_form" if form else "hormone_ppm", sentence)
        return named
    if named.form and form and named.form != tidy(form):
        raise NotAccepted.at("hormone_form", _twice(named.form, form))
    if named.ppm is not None and strength not in (None, named.ppm):
        raise NotAccepted.at("hormone_ppm", _twice(str(named.ppm), ppm))
    return Hormone(
        substance=named.substance,
        form=named.form or read_name(form, column="hormone_form"),
        ppm=strength if named.ppm is None else named.ppm,
    )


def _twice(first: str, second: str) -> str:
    return f"The column hormone says {first}, this one {second}. Say it in one of the two."


def _no_day(text: str) -> str:
    return (
        f"“{text}” is no day with its year. Put it as 2026-05-03, or 3/5/2026 with the day first."
    )


def _day_first(text: str, *, column: str, today: date) -> date:
    try:
        return parse_day(text, today=today, field=column, ahead=False)
    except NotAccepted as refusal:
        if "still to come" in str(refusal):
            raise
        raise NotAccepted.at(column, _no_day(text)) from refusal


def _bare(text: str, *, column: str) -> int:
    try:
        quantity = parse_quantity(text, field=column)
    except NotAccepted as refusal:
        raise NotAccepted.at(column, _no_number(text)) from refusal
    if quantity.trays is not None:
        raise NotAccepted.at(column, f"Put the number alone here: {quantity.number}.")
    return quantity.number


def _no_number(text: str) -> str:
    return f"“{text}” is no whole number. Put the count, such as 240."


def _folded(text: str) -> str:
    return tidy(re.sub(r"[-_]", " ", text)).casefold()


def _choose(folded: str, *, column: str, choices: Mapping[str, _Choice], typed: str) -> _Choice:
    if folded in choices:
        return choices[folded]
    words = dict.fromkeys(str(choice) for choice in choices.values() if choice)
    sentence = f"“{typed}” is none of the words for {column}. Put one of: {', '.join(words)}."
    raise NotAccepted.at(column, sentence)
