"""When something set in, by groups of settled clusters, each group standing for itself.

The curve's scale and the clusters' own spread are given; of each group only its log median is
asked, with no group leaning on another. Parts of one group can so be told apart without each
borrowing the answer from all of them.
"""

import numpy as np

from app.stats.histories import Histories
from app.stats.onset_trees import OnsetLeaves, log_prior_of_root, normal_kernel
from app.stats.share_grids import Floats
from app.stats.trees import Ints, message_up


def group_medians(
    histories: Histories, *, groups: Ints, count: int, scale: float, cluster_sd: float
) -> tuple[Floats, Ints]:
    """Return the masses of each group's log median, and how many clusters each rests on.

    `groups[c]` (0 to `count` - 1) is cluster c's group, -1 for none. Only clusters of which
    nothing waits and something set in are asked; masses lie on LOG_MEDIANS and sum to 1 per group.
    """
    some = histories.total(histories.onsets) > 0
    places = np.flatnonzero((histories.waiting == 0) & some & (groups >= 0))
    chosen = histories.chosen(places)
    nothing = np.zeros(chosen.count)
    leaves = OnsetLeaves(chosen, shares=nothing, remaining=nothing)
    sums = np.tile(log_prior_of_root(), (count, 1))
    if len(places):
        rows = message_up(leaves.at(scale), kernel=normal_kernel(cluster_sd))
        np.add.at(sums, groups[places], rows)
    masses = np.exp(sums - sums.max(axis=1, keepdims=True))
    behind = np.bincount(groups[places], minlength=count).astype(np.int64)
    return masses / masses.sum(axis=1, keepdims=True), behind
