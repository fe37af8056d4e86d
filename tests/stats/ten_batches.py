"""Ten batches of one group: the example that plans are worked through with."""

from collections.abc import Sequence
from typing import Final

import numpy as np

from app.stats.beta_trees import Clusters, OwnScatter

ROOTED: Final = (22, 31, 14, 40, 9, 27, 18, 35, 12, 25)
STUCK: Final = (30, 40, 20, 50, 20, 40, 30, 45, 20, 30)
SCATTER: Final = OwnScatter(correlation=0.12, logit_sd=0.7)


def clusters_of(rooted: Sequence[int], stuck: Sequence[int]) -> Clusters:
    """Return finished batches of one group."""
    return Clusters(
        successes=np.array(rooted, dtype=float),
        sizes=np.array(stuck, dtype=float),
        groups=np.zeros(len(rooted), dtype=np.int64),
    )
