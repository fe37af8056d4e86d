"""Batches summed by hand, one at a time: the slow way to a group's facts, to compare with."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.domain.strike_rates import (
    ASSUMED_CORRELATION,
    LANDMARK_DAYS,
    NO_FACTS,
    GroupFacts,
    Tally,
)


@dataclass(frozen=True, kw_only=True)
class Counts:
    """One batch: what became of its cuttings, and how old it was at its last count."""

    rooted: int = 0
    lost: int = 0
    dumped: int = 0
    cleared_unrooted: int = 0
    unrooted: int = 0
    counted_at: int | None = 90

    @property
    def stuck(self) -> int:
        return self.rooted + self.lost + self.dumped + self.cleared_unrooted + self.unrooted

    @property
    def finished(self) -> bool:
        return self.unrooted + self.cleared_unrooted == 0

    @property
    def facts(self) -> GroupFacts:
        worth = 1.0 / (1.0 + (self.stuck - 1) * ASSUMED_CORRELATION)
        tally = Tally(
            batches=1,
            stuck=self.stuck,
            rooted=self.rooted,
            lost=self.lost,
            dumped=self.dumped,
            cleared_unrooted=self.cleared_unrooted,
            unrooted=self.unrooted,
            effective_cuttings=self.stuck * worth,
            effective_rooted=self.rooted * worth,
            effective_unknown=(self.unrooted + self.cleared_unrooted) * worth,
        )
        young = self.counted_at is None or self.counted_at < LANDMARK_DAYS
        return GroupFacts(
            every=tally,
            finished=tally if self.finished else Tally(),
            too_young=int(young and not self.finished),
        )


def facts_of(batches: Sequence[Counts]) -> GroupFacts:
    total = NO_FACTS
    for batch in batches:
        total = total.plus(batch.facts)
    return total
