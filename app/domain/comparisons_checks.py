"""What stands beside a comparison: like put with like, chance alone, and what went together."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from app.domain.comparisons_batches import LoggedBatches
from app.domain.comparisons_designs import Held, HeldLevels, strata_of
from app.domain.comparisons_questions import Factor
from app.domain.comparisons_verdicts import LEAST_COMPARABLE
from app.stats.category_columns import joint_levels
from app.stats.comparable_shares import companion
from app.stats.permutation_moments import permutation_value_by_moments
from app.stats.share_grids import Floats
from app.stats.stratified import permutation_value, stratified_difference
from app.stats.trees import Ints

SHUFFLES: Final = 999
# Beyond this many batches shuffling takes long, and the sums are as good as normal.
MOST_SHUFFLED: Final = 400
_SEED: Final = 20_260_301
_ALWAYS: Final = 0.005


@dataclass(frozen=True, kw_only=True)
class LikeWithLike:
    """The difference among batches that were alike, and how often chance would do as much.

    `points` (-1 to 1) is None where no two such batches met; `worth` is the smaller side's
    effective cuttings summed over groups of like batches; `chance` lies from 0 to 1. `shuffles`
    is 0 where the moments of all shuffles were used instead. `met` is the effective cuttings
    that met in the same season and hands, whatever the genus.
    """

    by: tuple[Held, ...]
    points: float | None
    worth: float
    chance: float | None
    shuffles: int
    met: float


@dataclass(frozen=True, kw_only=True)
class Together:
    """What went together with one side so closely that the two cannot be told apart.

    `level` is its number, or the one that went most with one side; `one` whether that was the
    first level compared; `alone` whether the level by itself tells the sides apart, `always`
    whether without exception. A `held` of None means several things taken together.
    """

    held: Held | None
    level: int = 0
    one: bool = True
    alone: bool = False
    always: bool = False


def like_with_like(
    batches: LoggedBatches, *, sides: Floats, shares: Floats, weights: Floats, factor: Factor
) -> LikeWithLike:
    """Return the check; `sides` is 1 for the first level compared and 0 for the other."""
    by, levels = strata_of(batches, factor=factor)
    strata = joint_levels(levels, count=batches.count)
    found = stratified_difference(shares, weights=weights, treated=sides, strata=strata)
    chance, shuffles = _chance(shares, weights=weights, sides=sides, strata=strata)
    _, hands = strata_of(batches, factor=factor, genus=False)
    met = stratified_difference(
        shares,
        weights=weights,
        treated=sides,
        strata=joint_levels(hands, count=batches.count),
    )
    return LikeWithLike(
        by=by,
        points=found.points,
        worth=found.like_with_like,
        chance=chance,
        shuffles=shuffles,
        met=met.like_with_like,
    )


def _chance(
    shares: Floats, *, weights: Floats, sides: Floats, strata: Ints
) -> tuple[float | None, int]:
    numbers = np.bincount(strata)
    chosen = np.bincount(strata, weights=sides)
    mixed = ((chosen > 0) & (chosen < numbers))[strata]
    if not mixed.any():
        return None, 0
    # Strata of one side only cannot be shuffled and change nothing.
    values, worth = shares[mixed], weights[mixed]
    treated, places = sides[mixed], strata[mixed]
    if mixed.sum() > MOST_SHUFFLED:
        chance = permutation_value_by_moments(values, weights=worth, treated=treated, strata=places)
        return chance, 0
    chance = permutation_value(
        values,
        weights=worth,
        treated=treated,
        strata=places,
        rng=np.random.default_rng(_SEED),
        times=SHUFFLES,
    )
    return chance, SHUFFLES


def together(
    alike: tuple[HeldLevels, ...], *, sides: Floats, weights: Floats, comparable: float
) -> Together | None:
    """Return what went together with the sides, or None where enough is left to compare."""
    if comparable >= LEAST_COMPARABLE or not alike:
        return None
    found = [(companion(sides, weights=weights, levels=each.levels), each.held) for each in alike]
    closest, held = min(found, key=lambda pair: pair[0].share)
    if closest.share >= LEAST_COMPARABLE:
        return Together(held=None)
    alone = closest.match > 1.0 - LEAST_COMPARABLE
    return Together(
        held=held,
        level=closest.level,
        one=closest.treated,
        alone=alone,
        always=1.0 - closest.match < _ALWAYS if alone else closest.share < _ALWAYS,
    )
