"""What may be said of a comparison: one verdict, by fixed rules in a fixed order."""

from enum import StrEnum
from typing import Final

FEWEST_BATCHES: Final = 3
LEAST_COMPARABLE: Final = 0.1
MATTERS: Final = 0.05
WIDE: Final = 0.10


class Verdict(StrEnum):
    """What the batches allow to be said."""

    NOTHING = "nothing to compare"
    TOO_FEW = "too few batches"
    NOT_SEPARABLE = "cannot be separated"
    NO_DIRECT = "no direct comparison"
    NOT_ENOUGH = "not enough evidence"
    NOT_LARGE = "no large difference"
    NO_MATTER = "no difference that matters"
    DIFFERENCE = "a difference"


UNFAIR: Final = frozenset(
    {Verdict.NOTHING, Verdict.TOO_FEW, Verdict.NOT_SEPARABLE, Verdict.NO_DIRECT}
)
"""Verdicts with which no difference may be shown as found."""


def verdict_of(fewest: int, *, comparable: float, alike: float, low: float, high: float) -> Verdict:
    """Return the verdict.

    `fewest` is the number of batches on the smaller side, `comparable` the share of the factor
    that did not go together with anything else (0 to 1), `alike` the effective cuttings that met
    in the same season and hands, `low` and `high` the limits of the difference (-1 to 1).
    """
    if fewest == 0:
        return Verdict.NOTHING
    if fewest < FEWEST_BATCHES:
        return Verdict.TOO_FEW
    if comparable < LEAST_COMPARABLE:
        return Verdict.NOT_SEPARABLE
    if alike <= 0.0:
        return Verdict.NO_DIRECT
    return verdict_of_range(low, high=high)


def verdict_of_range(low: float, *, high: float) -> Verdict:
    """Return the verdict on a range of differences that rests on a fair comparison."""
    if low > 0.0 or high < 0.0:
        return Verdict.DIFFERENCE
    reach = max(-low, high)
    if reach <= MATTERS:
        return Verdict.NO_MATTER
    return Verdict.NOT_LARGE if reach <= WIDE else Verdict.NOT_ENOUGH
