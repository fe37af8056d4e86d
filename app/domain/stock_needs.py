"""How many stock plants the cuttings of an order take, in how many flushes."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import ceil, floor
from statistics import fmean
from typing import Final

FEWEST_RECORDS: Final = 10
CAUTIOUS_SHARE: Final = 0.2
WITHOUT_RECORDS: Final = 0.8


class YieldRestsOn(StrEnum):
    """What the cuttings from a plant at one cut rest on."""

    RECORDS = "records"
    FEW_RECORDS = "few records"
    EXPECTED = "expected"


@dataclass(frozen=True, kw_only=True)
class StockYield:
    """What the stock plants of a name give: `cuts` are cuttings per plant at each cut recorded.

    `expected` is what is entered as expected, the mean over the plants; `rest_weeks` the longest
    rest between two cuts, None where none is recorded. `plants` are kept, `fit` of them may be cut
    today, `fit_after_rest` once the weeks of rest are over.
    """

    plants: int
    fit: int
    cuts: tuple[float, ...]
    expected: float | None
    rest_weeks: int | None
    fit_after_rest: int = 0


@dataclass(frozen=True, kw_only=True)
class StockNeed:
    """So many plants, cut in so many flushes, each giving `per_plant` cuttings a time."""

    plants: int
    flushes: int
    per_plant: float
    rests_on: YieldRestsOn
    records: int


def flushes_in(window_weeks: int, *, rest_weeks: int | None) -> int:
    """Return how often a plant can be cut in a window: 1 + floor((weeks - 1) / rest).

    Without a rest recorded it is cut once.
    """
    if not rest_weeks:
        return 1
    return 1 + (max(window_weeks, 1) - 1) // rest_weeks


def stock_need(cuttings: int, *, given: StockYield, window_weeks: int) -> StockNeed | None:
    """Return the plants that `cuttings` take within the window, None where no yield is known.

    From ten records on a plant is counted with the number that four cuts in five reach, before
    that with 0.8 times the mean, or of what is expected (common practice, no source).
    """
    known = _per_plant(given)
    if known is None:
        return None
    per_plant, rests_on = known
    flushes = flushes_in(window_weeks, rest_weeks=given.rest_weeks)
    return StockNeed(
        plants=ceil(cuttings / (per_plant * flushes) - 1e-9),
        flushes=flushes,
        per_plant=per_plant,
        rests_on=rests_on,
        records=len(given.cuts),
    )


def _per_plant(given: StockYield) -> tuple[float, YieldRestsOn] | None:
    if len(given.cuts) >= FEWEST_RECORDS:
        return _quantile(given.cuts, CAUTIOUS_SHARE), YieldRestsOn.RECORDS
    if given.cuts:
        return WITHOUT_RECORDS * fmean(given.cuts), YieldRestsOn.FEW_RECORDS
    if given.expected is not None:
        return WITHOUT_RECORDS * given.expected, YieldRestsOn.EXPECTED
    return None


def _quantile(values: Sequence[float], level: float) -> float:
    """Return the quantile between the order statistics, straight from one to the next."""
    ordered = sorted(values)
    place = level * (len(ordered) - 1)
    below = floor(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (place - below) * (ordered[above] - ordered[below])
