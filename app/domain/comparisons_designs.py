"""What a comparison holds alike: the other things batches differ in, as columns of a design."""

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

import numpy as np

from app.domain.comparisons_batches import LoggedBatches
from app.domain.comparisons_questions import Factor
from app.stats.category_columns import category_columns
from app.stats.share_grids import Floats
from app.stats.trees import Ints

MONTHS_FROM: Final = 200


class Held(StrEnum):
    """Something held alike, as sentences say it."""

    GENUS = "genus"
    MONTH = "month"
    SEASON = "season"
    PERSON = "person"
    CUTTING_TYPE = "cutting type"
    HORMONE = "hormone"


_SAID_BY: Final[dict[Factor, frozenset[Held]]] = {
    Factor.GENUS: frozenset({Held.GENUS}),
    Factor.PLANT: frozenset({Held.GENUS}),
    Factor.MONTH: frozenset({Held.MONTH}),
    Factor.SEASON: frozenset({Held.MONTH}),
    Factor.PERSON: frozenset({Held.PERSON}),
    Factor.CUTTING_TYPE: frozenset({Held.CUTTING_TYPE}),
    Factor.HORMONE: frozenset({Held.HORMONE}),
    Factor.METHOD: frozenset({Held.CUTTING_TYPE, Held.HORMONE}),
}


@dataclass(frozen=True, kw_only=True)
class HeldLevels:
    """Something held alike with its level for each batch, a number."""

    held: Held
    levels: Ints = field(repr=False)


def season_of(month: Ints) -> Ints:
    """Return the quarter of the year, 0 to 3, of months 1 to 12."""
    return np.asarray((month - 1) // 3)


def held_alike(
    batches: LoggedBatches, *, factor: Factor | None, people: bool = True
) -> tuple[HeldLevels, ...]:
    """Return what is held alike: genus, month, person, cutting type and hormone.

    Left out is what the factor itself says and what does not vary; person as well without
    `people`. Below 200 batches seasons stand for months.
    """
    month = (
        HeldLevels(held=Held.MONTH, levels=batches.month)
        if batches.count >= MONTHS_FROM
        else HeldLevels(held=Held.SEASON, levels=season_of(batches.month))
    )
    everything = {
        Held.GENUS: HeldLevels(held=Held.GENUS, levels=batches.genus),
        Held.MONTH: month,
        Held.PERSON: HeldLevels(held=Held.PERSON, levels=batches.person),
        Held.CUTTING_TYPE: HeldLevels(held=Held.CUTTING_TYPE, levels=batches.cutting_type),
        Held.HORMONE: HeldLevels(held=Held.HORMONE, levels=batches.hormone),
    }
    said = _SAID_BY.get(factor, frozenset()) if factor else frozenset()
    left_out = said if people else said | {Held.PERSON}
    return tuple(
        each
        for held, each in everything.items()
        if held not in left_out and len(np.unique(each.levels)) > 1
    )


def design_columns(alike: tuple[HeldLevels, ...], *, count: int) -> Floats:
    """Return the intercept and a column per level held alike but the most frequent of each."""
    columns = [np.ones((count, 1)), *(category_columns(each.levels) for each in alike)]
    return np.concatenate(columns, axis=1)


def strata_of(
    batches: LoggedBatches, *, factor: Factor, genus: bool = True
) -> tuple[tuple[Held, ...], list[Ints]]:
    """Return by what like is put with like, and the levels: genus, season and person.

    Without what the factor itself says; without `genus`, season and person alone.
    """
    said = _SAID_BY.get(factor, frozenset())
    levels = []
    if genus and Held.GENUS not in said:
        levels.append((Held.GENUS, batches.genus))
    if Held.MONTH not in said:
        levels.append((Held.SEASON, season_of(batches.month)))
    if Held.PERSON not in said:
        levels.append((Held.PERSON, batches.person))
    return tuple(held for held, _ in levels), [codes for _, codes in levels]
