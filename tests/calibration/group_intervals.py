"""Wilson's interval on effective sizes for many groups of clusters at once."""

from dataclasses import dataclass, field

import numpy as np

from app.stats.intervals import DEFAULT_LEVEL, two_sided_z
from app.stats.share_grids import Floats
from app.stats.trees import Ints


@dataclass(frozen=True, kw_only=True)
class GroupIntervals:
    """Per group its effective size, its share and both limits (0 to 1); NaN where it is empty."""

    effective: Floats = field(repr=False)
    shares: Floats = field(repr=False)
    low: Floats = field(repr=False)
    high: Floats = field(repr=False)


def effective_intervals(
    successes: Floats,
    *,
    sizes: Floats,
    groups: Ints,
    correlation: float,
    count: int | None = None,
    level: float = DEFAULT_LEVEL,
) -> GroupIntervals:
    """Return the intervals of the groups 0 to `count` - 1 (by default up to the largest met).

    Each cluster of `sizes` items is worth n / (1 + (n - 1) correlation) independent ones, as in
    `clusters.effective_size`; a group's share is the mean of its clusters' shares so weighted,
    its limits are those of `intervals.wilson_interval`. A correlation of 0 pools the counts.

    Sources: as for those two functions.
    """
    length = int(groups.max(initial=-1)) + 1 if count is None else count
    weights = sizes / (1.0 + (sizes - 1.0) * correlation)
    total = np.bincount(groups, weights=weights, minlength=length).astype(float)
    weighted = np.bincount(groups, weights=weights * (successes / sizes), minlength=length)
    # Adding up in two orders must not make more successes than there are items.
    good = np.minimum(weighted, total)
    z = two_sided_z(level)
    middle, whole = good + z * z / 2.0, total + z * z
    with np.errstate(invalid="ignore", divide="ignore"):
        reach = z * np.sqrt(good * (total - good) / total + z * z / 4.0)
        shares = good / total
    low = np.where(good == 0.0, 0.0, np.maximum(0.0, (middle - reach) / whole))
    high = np.where(good == total, 1.0, np.minimum(1.0, (middle + reach) / whole))
    empty = total == 0.0
    low[empty], high[empty] = np.nan, np.nan
    return GroupIntervals(effective=total, shares=shares, low=low, high=high)
