"""How each cutting type is usually taken: its steps with reasons, what goes wrong, aftercare.

In this program's own words, common practice, no source. The sentence on how often to look rests
on a manual, and says so.
"""

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Final

from app.domain.batches import is_uncovered
from app.domain.card_steps import CardStep, CardTrouble
from app.domain.cutting_types import Cut, CuttingType
from app.domain.hormones import NO_HORMONE
from app.domain.standings import COMMON_PRACTICE

# Daily and weekly looks: K. A. Longman 1993, sheet A 50 (CONFIRMED). The first look for roots at
# the lower weeks to root and every two weeks after it is common practice, no source.
CHECKS_STANDING: Final = (
    "K. A. Longman, 1993, Rooting Cuttings of Tropical Trees, Commonwealth Science Council, sheet "
    "A 50, for the daily and weekly looks; the counts common practice, no source"
)
_DAILY: Final = (
    "Every day: moisture of leaves and medium, mist, warmth. Every week: shade, pests and "
    "diseases, dead leaves out."
)
_ASLEEP: Final = (
    "Look after every frost and in dry spells; look for bud break in spring and count in autumn."
)
_SPAN: Final = "-"


@dataclass(frozen=True, kw_only=True)
class TypeGuide:
    """What is usual for a type; spans are (lower, upper), a length in cm, None where none is usual.

    `words` are material, mix, container, light, aftercare and checks, by the names of the groups
    of a card.
    """

    steps: tuple[CardStep, ...] = ()
    troubles: tuple[CardTrouble, ...] = ()
    length_cm: tuple[int, int] | None = None
    leaves: tuple[int, int] | None = None
    words: Mapping[str, str] = field(default_factory=dict)
    standings: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What a card asks for, on which its steps depend; weeks are to root, None if not known."""

    hormone: str = ""
    cover: str = ""
    cut: Cut | None = None
    weeks_low: float | None = None


def type_guide(cutting_type: CuttingType, *, asked: Asked) -> TypeGuide:
    """Return what is usual for a type where a card asks for this; empty for a type not known."""
    marks = _marks(asked)
    steps, troubles, said = (
        [row for row in _rows(name) if _fits(row, cutting_type, marks)]
        for name in ("type_steps.csv", "type_troubles.csv", "type_words.csv")
    )
    words: dict[str, str] = {}
    for row in said:
        words.setdefault(row["group"], row["words"])
    length, leaves = (_span(words.pop(name, "")) for name in ("length", "leaves"))
    if steps:
        words["checks"] = _checks(cutting_type, asked)
    return TypeGuide(
        steps=tuple(CardStep(step=row["step"], reason=row["reason"]) for row in steps),
        troubles=tuple(
            CardTrouble(what=row["what"], signs=row["signs"], do=row["do"]) for row in troubles
        ),
        length_cm=length,
        leaves=leaves,
        words=words,
        standings={
            name: CHECKS_STANDING if name == "checks" else COMMON_PRACTICE
            for name in (*words, "steps", "troubles", "length", "leaves")
        },
    )


def _checks(cutting_type: CuttingType, asked: Asked) -> str:
    if cutting_type is CuttingType.HARDWOOD and is_uncovered(asked.cover):
        return _ASLEEP
    if asked.weeks_low is None:
        return f"{_DAILY} First look for roots in week 3, then every two weeks."
    return f"{_DAILY} First look for roots after {asked.weeks_low:g} weeks, then every two weeks."


def _marks(asked: Asked) -> frozenset[str]:
    return frozenset(
        {
            "",
            "no hormone" if asked.hormone == NO_HORMONE else "hormone",
            "uncovered" if is_uncovered(asked.cover) else "covered",
            (asked.cut or Cut.NODAL).value,
        }
    )


def _fits(row: Mapping[str, str], cutting_type: CuttingType, marks: frozenset[str]) -> bool:
    return row["cutting_type"] == cutting_type.value and row["when"] in marks


def _span(text: str) -> tuple[int, int] | None:
    if not text:
        return None
    low, _, high = text.partition(_SPAN)
    return int(low), int(high or low)


@cache
def _rows(name: str) -> tuple[Mapping[str, str], ...]:
    return tuple(_read(name))


def _read(name: str) -> Iterator[Mapping[str, str]]:
    text = (files("app.domain") / "data" / name).read_text(encoding="utf-8")
    lines = (line for line in text.splitlines(keepends=True) if not line.startswith("#"))
    return csv.DictReader(lines)
