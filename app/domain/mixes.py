"""Mixes: recipes by parts of volume, what holds for them, and what a making-up needs."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from app.domain.measures import parse_measure
from app.domain.problems import NotAccepted, Problem

MOST_PARTS: Final = 1000.0
MOST_LITRES: Final = 1_000_000.0
HIGHEST_SHRINKAGE: Final = 0.5
LONGEST_NAME: Final = 80
ROUNDING_PERCENT: Final = 0.5

LINE_EXAMPLE: Final = 'Write one ingredient to a line with its parts, such as "bark 3".'


@dataclass(frozen=True, kw_only=True)
class MixPart:
    """So many parts by volume of one ingredient."""

    ingredient: str
    parts: float


@dataclass(frozen=True, kw_only=True)
class MixEntry:
    """A recipe as it is entered.

    `shrinkage_share` (0 to 0.5) is by how much the made mix is smaller than the sum of what went
    in, measured for this recipe; None where nobody measured it.
    """

    name: str
    parts: tuple[MixPart, ...]
    shrinkage_share: float | None = None
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class IngredientVolume:
    """How many litres of one ingredient go in."""

    ingredient: str
    litres: float


def accepted_mix(entry: MixEntry) -> MixEntry:
    """Return the entry with its texts tidied.

    Raises:
        NotAccepted: no name, no ingredient, an ingredient twice, parts not above zero, or a
            shrinkage out of range.
    """
    tidy = replace(
        entry,
        name=" ".join(entry.name.split()),
        parts=tuple(
            replace(part, ingredient=" ".join(part.ingredient.split())) for part in entry.parts
        ),
        notes=entry.notes.strip(),
    )
    if problems := tuple(_problems(tidy)):
        raise NotAccepted(problems)
    return tidy


def recipe_words(parts: tuple[MixPart, ...]) -> str:
    """Return the recipe in words, such as "equal parts perlite and compost"."""
    if not parts:
        return "recipe not recorded"
    names = [part.ingredient for part in parts]
    if len(parts) == 1:
        return f"{names[0]} alone"
    if len({part.parts for part in parts}) == 1:
        return f"equal parts {_listed(names)}"
    if _in_percent(parts):
        return _listed([f"{part.parts:g} % {part.ingredient}" for part in parts])
    return _listed([f"{_count(part.parts)} {part.ingredient}" for part in parts])


def ingredient_volumes(
    parts: tuple[MixPart, ...], *, litres: float, shrinkage_share: float = 0.0
) -> tuple[IngredientVolume, ...]:
    """Return the litres of each ingredient that make `litres` of the mix.

    Fine particles fill the gaps between coarse ones, so that more goes in than comes out:
    litres / (1 - shrinkage_share) in all, shared out by parts.
    """
    going_in = litres / (1 - shrinkage_share)
    total = sum(part.parts for part in parts)
    return tuple(
        IngredientVolume(ingredient=part.ingredient, litres=going_in * part.parts / total)
        for part in parts
    )


def parse_litres(text: str, *, field: str = "litres") -> float | None:
    """Return litres above zero, None for a blank.

    Raises:
        NotAccepted: not a number, not above zero, or more than a million.
    """
    litres = parse_measure(text, field=field, low=0, high=MOST_LITRES, unit="litres")
    if litres == 0:
        raise NotAccepted.at(field, "Give how many litres you want, more than 0.")
    return litres


def _problems(entry: MixEntry) -> Iterator[Problem]:
    if not entry.name:
        yield Problem(field="name", sentence="Give the mix a name.")
    elif len(entry.name) > LONGEST_NAME:
        sentence = f"Give it a shorter name, of at most {LONGEST_NAME} letters."
        yield Problem(field="name", sentence=sentence)
    if not entry.parts:
        yield Problem(field="parts", sentence=f"Say what it is made of. {LINE_EXAMPLE}")
    seen: set[str] = set()
    for part in entry.parts:
        yield from _part_problems(part, seen=seen)
        seen.add(part.ingredient.casefold())
    share = entry.shrinkage_share
    if share is not None and not 0 <= share <= HIGHEST_SHRINKAGE:
        sentence = f"Give the shrinkage in per cent, from 0 to {HIGHEST_SHRINKAGE:.0%}."
        yield Problem(field="shrinkage", sentence=sentence.replace("%", " %"))


def _part_problems(part: MixPart, *, seen: set[str]) -> Iterator[Problem]:
    name = part.ingredient
    if not name or len(name) > LONGEST_NAME:
        yield Problem(field="parts", sentence=f"Name each ingredient. {LINE_EXAMPLE}")
    elif name.casefold() in seen:
        yield Problem(field="parts", sentence=f"{name} is named twice: put its parts together.")
    if not 0 < part.parts <= MOST_PARTS:
        sentence = f"Give the parts of {name} as a number above 0 and up to {MOST_PARTS:,.0f}."
        yield Problem(field="parts", sentence=sentence)


def _in_percent(parts: tuple[MixPart, ...]) -> bool:
    return abs(sum(part.parts for part in parts) - 100) <= ROUNDING_PERCENT


def _count(parts: float) -> str:
    return "1 part" if parts == 1 else f"{parts:g} parts"


def _listed(words: list[str]) -> str:
    return f"{', '.join(words[:-1])} and {words[-1]}"
