"""The answer to a question about strike rates: its groups, set out in rows and columns."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, TypeAlias

from app.domain.strike_rates import (
    ASSUMED_CORRELATION,
    NO_FACTS,
    GroupEstimate,
    GroupFacts,
    RateSquare,
    rate_of,
)
from app.domain.strike_rates_keys import RateKey, in_order
from app.domain.strike_rates_questions import RateQuestion

FIGURES: Final = (
    "batches",
    "stuck",
    "rooted",
    "lost",
    "dumped",
    "cleared_unrooted",
    "unrooted",
    "strike_share",
    "low_share",
    "high_share",
    "estimate_share",
    "estimate_low_share",
    "estimate_high_share",
    "basis",
)
_DECIMALS: Final = 6

Figure: TypeAlias = str | int | float | None


@dataclass(frozen=True, kw_only=True)
class RateGroup:
    """Batches that read the same under every name asked by, and what became of them."""

    values: tuple[str, ...]
    facts: GroupFacts
    learned: GroupEstimate | None = None

    @property
    def square(self) -> RateSquare:
        """The rate of the group."""
        return rate_of(self.facts, learned=self.learned)


@dataclass(frozen=True, kw_only=True)
class RateAnswer:
    """Every group that has batches, in the order of its values, and all of them together.

    `rows` sums each value of the first name. A batch taken from several stock plants stands in
    the group of each and is counted once in `rows` and `total`. `correlation` is that of two
    cuttings of one batch, learned from `finished` batches of the whole nursery or, with 0, assumed.
    """

    question: RateQuestion
    groups: tuple[RateGroup, ...]
    rows: tuple[RateGroup, ...]
    total: GroupFacts
    total_learned: GroupEstimate | None = None
    correlation: float = ASSUMED_CORRELATION
    finished: int = 0

    @property
    def columns(self) -> tuple[str, ...]:
        """The values of the second name in order; none where only one name was asked by."""
        if len(self.question.by) < 2:
            return ()
        values = {group.values[1] for group in self.groups}
        return in_order(values, key=self.question.by[1])

    @property
    def grid(self) -> tuple[tuple[RateGroup | None, ...], ...]:
        """For each of `rows` the group in each of `columns`, None where no batch has both."""
        found = {group.values: group for group in self.groups}
        return tuple(
            tuple(found.get((row.values[0], column)) for column in self.columns)
            for row in self.rows
        )


def arranged(groups: Iterable[RateGroup], *, question: RateQuestion) -> tuple[RateGroup, ...]:
    """Return the groups in the order of their values, those of the same values joined to one.

    Two people erased from the log, for one, both read the same.
    """
    joined: dict[tuple[str, ...], GroupFacts] = {}
    for group in groups:
        joined[group.values] = joined.get(group.values, NO_FACTS).plus(group.facts)
    places = [
        {value: place for place, value in enumerate(in_order(values, key=key))}
        for key, values in zip(question.by, map(set, zip(*joined, strict=True)), strict=False)
    ]
    ordered = sorted(
        joined,
        key=lambda values: [place[value] for place, value in zip(places, values, strict=True)],
    )
    return tuple(RateGroup(values=values, facts=joined[values]) for values in ordered)


def row_sums(groups: Iterable[RateGroup]) -> tuple[RateGroup, ...]:
    """Return the sums over each first value, in the order the groups came."""
    sums: dict[tuple[str, ...], GroupFacts] = {}
    for group in groups:
        first = group.values[:1]
        sums[first] = sums.get(first, NO_FACTS).plus(group.facts)
    return tuple(RateGroup(values=values, facts=facts) for values, facts in sums.items())


def sum_of(groups: Iterable[RateGroup]) -> GroupFacts:
    """Return the facts of all groups, which must have no batch in common."""
    total = NO_FACTS
    for group in groups:
        total = total.plus(group.facts)
    return total


def columns_of(question: RateQuestion) -> tuple[str, ...]:
    """Return the names of the columns that an answer has in files."""
    return (*(key.value for key in question.by), *FIGURES)


def figures_of(group: RateGroup, *, question: RateQuestion) -> tuple[Figure, ...]:
    """Return the group's line in files, as `columns_of` names it; None for what is not known.

    Months and years are numbers, shares have six decimals.
    """
    square, every = group.square, group.facts.every
    counts = (
        every.batches,
        every.stuck,
        every.rooted,
        every.lost,
        every.dumped,
        every.cleared_unrooted,
        every.unrooted,
    )
    shares = (
        square.strike_share,
        square.low_share,
        square.high_share,
        square.estimate_share,
        square.estimate_low_share,
        square.estimate_high_share,
    )
    printed = (None if share is None else round(share, _DECIMALS) for share in shares)
    values = (
        int(value) if key in {RateKey.MONTH, RateKey.YEAR} and value.isdecimal() else value
        for key, value in zip(question.by, group.values, strict=True)
    )
    return (*values, *counts, *printed, square.basis.value)
