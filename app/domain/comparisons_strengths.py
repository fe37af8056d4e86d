"""Several strengths of one hormone looked at together, so that chance finds are not believed."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from app.domain.comparisons_questions import ComparisonQuestion, Factor
from app.domain.hormones import NO_HORMONE, Hormone, parse_hormone
from app.domain.problems import NotAccepted
from app.domain.strike_rates_keys import NOT_RECORDED

MOST_STRENGTHS: Final = 8
STANDS_BELOW: Final = 0.05


@dataclass(frozen=True, kw_only=True)
class Strengths:
    """Two or more strengths of one substance and form, and the level each is held against."""

    base: str
    levels: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class StrengthDifference:
    """One strength against the base: differences -1 to 1, and the chance after Holm (0 to 1)."""

    level: str
    batches: int
    points: float
    low: float
    high: float
    adjusted: float

    @property
    def stands(self) -> bool:
        """Whether it still stands after all of them were looked at."""
        return self.adjusted < STANDS_BELOW


def strengths_of(question: ComparisonQuestion, *, levels: Iterable[str]) -> Strengths | None:
    """Return the strengths to look at together, None where only one of them was ever used.

    `levels` are all that have batches. The base is the level without hormone, else the second one
    asked about; the strengths are those of the other one's substance and form, for a method with
    its cutting type.
    """
    if question.factor not in {Factor.HORMONE, Factor.METHOD}:
        return None
    asked, base = question.one, question.other
    if _is_bare(asked):
        asked, base = base, asked
    family = _family(asked)
    if family is None:
        return None
    found = [level for level in levels if level != base and _family(level) == family]
    if asked not in found:
        found.append(asked)
    if len(found) < 2:
        return None
    ordered = sorted(found, key=_strength)[:MOST_STRENGTHS]
    return Strengths(base=base, levels=tuple(ordered))


def _parts(level: str) -> tuple[str, Hormone | None]:
    """Return the cutting type of a method, blank for a hormone, and the hormone if there is one."""
    cutting_type, comma, hormone = level.rpartition(", ")
    if level == NOT_RECORDED or NOT_RECORDED in hormone:
        return "", None
    try:
        return (cutting_type if comma else ""), parse_hormone(hormone)
    except NotAccepted:
        return "", None


def _is_bare(level: str) -> bool:
    _, hormone = _parts(level)
    return hormone is None or hormone.substance == NO_HORMONE


def _family(level: str) -> tuple[str, str, str] | None:
    cutting_type, hormone = _parts(level)
    if hormone is None or hormone.substance == NO_HORMONE:
        return None
    return cutting_type, hormone.substance, hormone.form


def _strength(level: str) -> int:
    _, hormone = _parts(level)
    return -1 if hormone is None or hormone.ppm is None else hormone.ppm
