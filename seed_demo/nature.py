"""How the cuttings of a batch fare, whatever anybody writes down about them.

Each batch has a rate of its own, scattered round the usual one (a beta distribution): cuttings
of one batch stand or fall together. Each cutting that roots does so on a day of its own; one that
does not is lost on a day of its own, or lingers.
"""

from dataclasses import dataclass
from math import exp, log
from random import Random
from typing import Final

# How alike the cuttings of one batch are (0 not at all, 1 all the same).
LIKENESS: Final = 0.1
# Spread of the day of rooting, of cuttings and of whole batches (standard deviation of its log).
SPREAD_OF_CUTTINGS: Final = 0.28
SPREAD_OF_BATCHES: Final = 0.12
SPREAD_OF_LOSS: Final = 0.5
LINGERING_SHARE: Final = 0.22
USUAL_LOSS_SHARE: Final = 0.7
OTHER_CAUSES: Final = (
    ("dried out", 0.22),
    ("basal rot", 0.2),
    ("grey mould", 0.18),
    ("leaf drop", 0.1),
    ("too weak", 0.12),
    ("sciarid larvae", 0.08),
    ("slugs", 0.05),
    ("not known", 0.05),
)
DAYS_PER_WEEK: Final = 7


@dataclass(frozen=True, kw_only=True)
class Mishap:
    """Something that took a share of a batch on one day of its age."""

    age: int
    share: float
    cause: str


@dataclass(frozen=True, kw_only=True)
class Fate:
    """What becomes of a batch: ages in days at which cuttings root, and at which they are lost.

    Neither list holds those that linger, unrooted, until somebody clears them.
    """

    stuck: int
    rooted_at: tuple[int, ...]
    lost_at: tuple[tuple[int, str], ...]

    def rooted_by(self, age: int) -> int:
        """Return how many have rooted by this age in days."""
        return sum(at <= age for at in self.rooted_at)

    def lost_by(self, age: int) -> dict[str, int]:
        """Return how many have been lost by this age, by cause."""
        found: dict[str, int] = {}
        for at, cause in self.lost_at:
            if at <= age:
                found[cause] = found.get(cause, 0) + 1
        return found


def shifted(rate: float, *, by: float) -> float:
    """Return a rate whose log-odds are higher by so much, within 0.01 to 0.99."""
    odds = log(rate / (1 - rate)) + by
    return min(0.99, max(0.01, 1 / (1 + exp(-odds))))


def draw_fate(
    dice: Random,
    *,
    stuck: int,
    rate: float,
    weeks: float,
    lost_to: str,
    mishap: Mishap | None = None,
) -> Fate:
    """Return what becomes of a batch of so many cuttings."""
    kappa = 1 / LIKENESS - 1
    own_rate = dice.betavariate(rate * kappa, (1 - rate) * kappa)
    median = weeks * DAYS_PER_WEEK * exp(dice.gauss(0, SPREAD_OF_BATCHES))
    rooted: list[int] = []
    lost: list[tuple[int, str]] = []
    for _ in range(stuck):
        if mishap is not None and dice.random() < mishap.share:
            lost.append((mishap.age, mishap.cause))
        elif dice.random() < own_rate:
            rooted.append(max(5, round(median * exp(dice.gauss(0, SPREAD_OF_CUTTINGS)))))
        elif dice.random() > LINGERING_SHARE:
            age = max(4, round(median * 0.8 * exp(dice.gauss(0, SPREAD_OF_LOSS))))
            lost.append((age, _cause(dice, lost_to)))
    return Fate(stuck=stuck, rooted_at=tuple(sorted(rooted)), lost_at=tuple(sorted(lost)))


def _cause(dice: Random, lost_to: str) -> str:
    if dice.random() < USUAL_LOSS_SHARE:
        return lost_to
    names = [name for name, _ in OTHER_CAUSES]
    return dice.choices(names, weights=[share for _, share in OTHER_CAUSES])[0]
