"""Days to root of parts of a genus and type, such as its months, each by its own batches alone."""

from typing import Final

import numpy as np

from app.domain.nursery_fits import NurseryFit
from app.domain.rooting_times import RootingDay
from app.stats.histories import Histories
from app.stats.new_onsets import log_median_quantiles
from app.stats.onset_groups import group_medians
from app.stats.trees import Ints

_LEVELS: Final = (0.5, 0.025, 0.975)


def days_of_groups(
    histories: Histories, *, groups: Ints, count: int, fit: NurseryFit
) -> tuple[tuple[RootingDay | None, int], ...]:
    """Return per group the day by which half of those that root have, and its finished batches.

    `groups` numbers the batches' groups from 0 to `count` - 1, -1 for none. None where a group
    has no finished batch with roots: nothing is borrowed from the others.
    """
    masses, behind = group_medians(
        histories,
        groups=groups,
        count=count,
        scale=fit.onset_scale,
        cluster_sd=fit.onset_sds[0],
    )
    found: list[tuple[RootingDay | None, int]] = []
    for row, batches in zip(masses, behind.tolist(), strict=True):
        if not batches:
            found.append((None, 0))
            continue
        day, low, high = np.exp(log_median_quantiles(row, levels=_LEVELS)).tolist()
        found.append((RootingDay(day=day, low=low, high=high), batches))
    return tuple(found)
