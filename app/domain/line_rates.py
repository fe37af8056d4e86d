"""The strike rate of a line by generation, so that a clone that begins to fail is seen."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from app.domain.batch_rates import batch_rate
from app.domain.outcomes import Standing
from app.domain.strike_rates import ASSUMED_CORRELATION, GroupFacts, RateSquare, rate_of


@dataclass(frozen=True, kw_only=True)
class LineBatch:
    """A batch of a line with the generation of its cuttings, 1 for those of the first plants."""

    generation: int
    stuck_on: date
    standing: Standing


@dataclass(frozen=True, kw_only=True)
class GenerationRate:
    """What struck of one generation, in all its batches together."""

    generation: int
    first_on: date
    last_on: date
    square: RateSquare


def rates_by_generation(
    batches: Iterable[LineBatch], *, correlation: float = ASSUMED_CORRELATION
) -> tuple[GenerationRate, ...]:
    """Return the rate of each generation that has batches, the first one first.

    `correlation` of two cuttings of one batch is 0 to 1. Re-stuck batches are to be left out.
    """
    by_generation: dict[int, list[LineBatch]] = defaultdict(list)
    for batch in batches:
        by_generation[batch.generation].append(batch)
    return tuple(
        GenerationRate(
            generation=generation,
            first_on=min(batch.stuck_on for batch in found),
            last_on=max(batch.stuck_on for batch in found),
            square=rate_of(_facts(found, correlation=correlation)),
        )
        for generation, found in sorted(by_generation.items())
    )


def _facts(batches: list[LineBatch], *, correlation: float) -> GroupFacts:
    first, *others = (
        batch_rate(batch.standing, stuck_on=batch.stuck_on, correlation=correlation).facts
        for batch in batches
    )
    for other in others:
        first = first.plus(other)
    return first
