"""What one batch alone says of its strike rate."""

from datetime import date

from app.domain.outcomes import Standing, cuttings
from app.domain.strike_rates import (
    ASSUMED_CORRELATION,
    LANDMARK_DAYS,
    Basis,
    GroupFacts,
    RateSquare,
    Tally,
    rate_of,
)
from app.domain.strike_rates_words import basis_sentence, counts_words, few_sentence, rate_sentence
from app.stats.clusters import effective_size


def batch_rate(
    standing: Standing, *, stuck_on: date, correlation: float = ASSUMED_CORRELATION
) -> RateSquare:
    """Return the rate of a group of this batch alone; `correlation` is 0 to 1."""
    return rate_of(batch_facts(standing, stuck_on=stuck_on, correlation=correlation))


def batch_facts(standing: Standing, *, stuck_on: date, correlation: float) -> GroupFacts:
    """Return what a group knows of this batch, to be added to what it knows of others."""
    worth = effective_size(standing.stuck, correlation=correlation)
    every = Tally(
        batches=1,
        stuck=standing.stuck,
        rooted=standing.rooted,
        lost=standing.lost,
        dumped=standing.dumped,
        cleared_unrooted=standing.cleared_unrooted,
        unrooted=standing.unrooted,
        effective_cuttings=worth,
        effective_rooted=worth * standing.rooted / standing.stuck,
        effective_unknown=worth * (standing.unrooted + standing.cleared_unrooted) / standing.stuck,
    )
    finished = every.unknown == 0
    counted_old = (
        standing.counted_on is not None and (standing.counted_on - stuck_on).days >= LANDMARK_DAYS
    )
    return GroupFacts(
        every=every,
        finished=every if finished else Tally(),
        too_young=int(not finished and not counted_old),
    )


def batch_counts_sentence(standing: Standing, *, stuck_on: date) -> str:
    """Return how many rooted, were lost and are unrooted, without a rate."""
    if standing.counted_on is None and standing.unrooted == standing.stuck:
        return f"{cuttings(standing.unrooted)} unrooted, not counted yet."
    every = batch_rate(standing, stuck_on=stuck_on).facts.every
    return f"Of {counts_words(every)}."


def batch_rate_sentences(standing: Standing, *, stuck_on: date) -> tuple[str, ...]:
    """Return counts with the rate and its range, what it rests on, and that it is only one.

    Bounds speak of these very cuttings, so that one batch is not few for them.
    """
    square = batch_rate(standing, stuck_on=stuck_on)
    if standing.counted_on is None and standing.unrooted == standing.stuck:
        return (batch_counts_sentence(standing, stuck_on=stuck_on),)
    few = "" if square.basis is Basis.BOUNDS else few_sentence(square)
    said = (rate_sentence(square), basis_sentence(square), few)
    return tuple(sentence for sentence in said if sentence)
