"""What share of the cuttings struck: the counts of a group of batches and what may be said of them.

A batch is finished when nothing of it is unrooted and nothing was cleared unrooted. Cuttings
cleared unrooted are unknown, like those still unrooted: neither rooted nor failed.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final, Self

from app.stats.intervals import Interval, wilson_interval

ASSUMED_CORRELATION: Final = 0.12  # of two cuttings of one batch; no published figure was found
LANDMARK_DAYS: Final = 63
FEW_BATCHES: Final = 3


class RateOf(StrEnum):
    """What a rate is the share of: cuttings that struck, or that became plants ready for sale."""

    STRIKE = "strike"
    READY = "ready"

    @property
    def made(self) -> str:
        """What the cuttings became that count."""
        return "rooted" if self is RateOf.STRIKE else "ready"

    @property
    def open(self) -> str:
        """What those are that may still become so."""
        return "unrooted" if self is RateOf.STRIKE else "rooting or growing on"


class Basis(StrEnum):
    """What an estimate rests on."""

    FINISHED = "finished"
    LANDMARK = "landmark"
    BOUNDS = "bounds"
    FORECAST = "forecast"
    NONE = "none"


@dataclass(frozen=True, kw_only=True)
class Tally:
    """Sums over some batches, in cuttings; every cutting stuck is in one of the five states.

    `effective_cuttings` sums n / (1 + (n - 1) correlation) over the batches, `effective_rooted`
    the same times each batch's own share rooted, `effective_unknown` times its share unknown.

    In a rate of plants ready, `rooted` are those that became ready, `lost` also those lost after
    rooting, and `unrooted` all that may still become ready.
    """

    batches: int = 0
    stuck: int = 0
    rooted: int = 0
    lost: int = 0
    dumped: int = 0
    cleared_unrooted: int = 0
    unrooted: int = 0
    effective_cuttings: float = 0.0
    effective_rooted: float = 0.0
    effective_unknown: float = 0.0
    of: RateOf = RateOf.STRIKE

    def plus(self, other: Self) -> Self:
        """Return the sums over both, which must have no batch in common."""
        return type(self)(
            batches=self.batches + other.batches,
            stuck=self.stuck + other.stuck,
            rooted=self.rooted + other.rooted,
            lost=self.lost + other.lost,
            dumped=self.dumped + other.dumped,
            cleared_unrooted=self.cleared_unrooted + other.cleared_unrooted,
            unrooted=self.unrooted + other.unrooted,
            effective_cuttings=self.effective_cuttings + other.effective_cuttings,
            effective_rooted=self.effective_rooted + other.effective_rooted,
            effective_unknown=self.effective_unknown + other.effective_unknown,
            of=self.of if self.batches else other.of,
        )

    @property
    def unknown(self) -> int:
        """Cuttings of which nobody knows whether they would have rooted."""
        return self.unrooted + self.cleared_unrooted

    @property
    def share(self) -> float | None:
        """Rooted of stuck, 0 to 1, or None where nothing was stuck."""
        return self.rooted / self.stuck if self.stuck else None

    @property
    def interval(self) -> Interval | None:
        """The 95 % interval of the rate on effective cuttings, or None where nothing was stuck."""
        return self._interval_at(self.effective_rooted)

    @property
    def widest_interval(self) -> Interval | None:
        """From the low end if no unknown cutting roots to the high end if all do, or None.

        It holds whatever becomes of them, since both ends only rise with the number rooted.
        """
        worst = self._interval_at(self.effective_rooted)
        best = self._interval_at(self.effective_rooted + self.effective_unknown)
        return Interval(low=worst.low, high=best.high) if worst and best else None

    def _interval_at(self, rooted: float) -> Interval | None:
        # Sums of floats may pass each other in the last digit where every cutting rooted.
        within = min(rooted, self.effective_cuttings)
        return wilson_interval(within, size=self.effective_cuttings)


@dataclass(frozen=True, kw_only=True)
class GroupFacts:
    """All that is known of a group: its sums, those of its finished batches, and its young ones.

    `too_young` counts the unfinished batches that were not yet LANDMARK_DAYS old at their last
    count, or were never counted.
    """

    every: Tally
    finished: Tally
    too_young: int

    def plus(self, other: Self) -> Self:
        """Return the facts of both groups, which must have no batch in common."""
        return type(self)(
            every=self.every.plus(other.every),
            finished=self.finished.plus(other.finished),
            too_young=self.too_young + other.too_young,
        )


NO_FACTS: Final = GroupFacts(every=Tally(), finished=Tally(), too_young=0)


@dataclass(frozen=True, kw_only=True)
class GroupEstimate:
    """What the rate of a group is taken to be, learned from its batches and those around it.

    All four numbers lie from 0 to 1. `forecast_share` is the share of the cuttings whose outcome
    is forecast; with `leans` the estimate leans on the wider group.
    """

    share: float
    low_share: float
    high_share: float
    forecast_share: float
    leans: bool


@dataclass(frozen=True, kw_only=True)
class RateSquare:
    """One group's rate; every share lies from 0 to 1.

    `strike_share` is rooted of stuck of the finished batches, `low_share` and `high_share` its
    interval. The estimate speaks for all batches of the group, by `basis`: for bounds it has no
    middle, and its two ends are what happens at worst and at best to these very cuttings.
    """

    facts: GroupFacts
    strike_share: float | None
    low_share: float | None
    high_share: float | None
    estimate_share: float | None
    estimate_low_share: float | None
    estimate_high_share: float | None
    basis: Basis
    learned: GroupEstimate | None = None

    @property
    def few(self) -> bool:
        """Whether there are batches, but too few to lean on."""
        return 0 < self.facts.every.batches < FEW_BATCHES

    @property
    def effective_cuttings(self) -> float:
        """How many separate cuttings the batches of the group are worth."""
        return self.facts.every.effective_cuttings

    @property
    def is_outside(self) -> bool:
        """Whether the plain share lies outside its interval, which weighs batches differently."""
        if self.estimate_share is None or self.basis is Basis.BOUNDS:
            return False
        low, high = self.estimate_low_share or 0.0, self.estimate_high_share or 0.0
        return not low <= self.estimate_share <= high


def basis_of(facts: GroupFacts, *, learned: GroupEstimate | None = None) -> Basis:
    """Return what the estimate of a group can rest on."""
    if not facts.every.stuck:
        return Basis.NONE
    if facts.finished.batches == facts.every.batches:
        return Basis.FINISHED
    if learned is not None:
        return Basis.FORECAST
    return Basis.BOUNDS if facts.too_young else Basis.LANDMARK


def rate_of(facts: GroupFacts, *, learned: GroupEstimate | None = None) -> RateSquare:
    """Return the rate of a group: never rooted of all stuck while young batches are among them.

    `learned` is the estimate where one could be made; without it the figures stand by themselves.
    """
    basis = basis_of(facts, learned=learned)
    plain = facts.finished.interval
    if learned is None or basis is Basis.NONE:
        share, low, high = _estimate(facts.every, basis=basis)
    else:
        share, low, high = learned.share, learned.low_share, learned.high_share
    return RateSquare(
        facts=facts,
        strike_share=facts.finished.share,
        low_share=plain.low if plain else None,
        high_share=plain.high if plain else None,
        estimate_share=share,
        estimate_low_share=low,
        estimate_high_share=high,
        basis=basis,
        learned=None if basis is Basis.NONE else learned,
    )


def _estimate(every: Tally, *, basis: Basis) -> tuple[float | None, float | None, float | None]:
    if basis is Basis.BOUNDS:
        return None, every.rooted / every.stuck, (every.rooted + every.unknown) / every.stuck
    interval = every.interval
    if interval is None:
        return None, None, None
    return every.share, interval.low, interval.high
