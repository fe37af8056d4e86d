"""The share of one group by itself: a posterior on a grid in which the correlation is learned.

For a group that leans on no parent. The share is uniform beforehand, the correlation of two items
of a cluster is logit-normal round what is known of the whole.
"""

from typing import Final

from app.stats.beta_trees import Clusters, OwnScatter, mixed_group_messages
from app.stats.share_grids import Floats, ShareGrid
from app.stats.trees import normalised

ASSUMED_CORRELATION: Final = 0.12
ASSUMED_LOGIT_SD: Final = 1.0
LEARNED_LOGIT_SD: Final = 0.7
_NODES: Final = 17


def lone_group_posteriors(
    clusters: Clusters,
    *,
    groups: int,
    correlation: float = ASSUMED_CORRELATION,
    logit_sd: float = ASSUMED_LOGIT_SD,
    grid: ShareGrid,
) -> Floats:
    """Return bin masses of each group's share, shape (groups, bins); rows sum to 1.

    `correlation` (0 to 1, both excluded) and `logit_sd` describe what is thought of the
    correlation before this group's clusters speak: 0.12 and 1 where nothing is known.
    """
    layered = mixed_group_messages(
        clusters,
        groups=groups,
        scatter=OwnScatter(correlation=correlation, logit_sd=logit_sd),
        nodes=_NODES,
        grid=grid,
    )
    return normalised(layered + grid.log_widths)
