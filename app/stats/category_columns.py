"""Categories as the columns of a design."""

from collections.abc import Sequence

import numpy as np

from app.stats.share_grids import Floats
from app.stats.trees import Ints


def category_columns(levels: Ints) -> Floats:
    """Return one column of 0 and 1 per level of a category but the most frequent one.

    `levels` holds a number per cluster. A category with one level gives no column.
    """
    values, codes, counts = np.unique(levels, return_inverse=True, return_counts=True)
    columns = np.zeros((len(levels), len(values)))
    columns[np.arange(len(levels)), codes] = 1.0
    return np.asarray(np.delete(columns, int(counts.argmax()), axis=1))


def joint_levels(categories: Sequence[Ints], *, count: int) -> Ints:
    """Return a number per cluster, from 0, that is the same where all categories are the same.

    `count` is the number of clusters, needed where there is no category: then all are alike.
    """
    if not categories:
        return np.zeros(count, dtype=np.int64)
    stacked = np.stack(list(categories), axis=1)
    return np.asarray(np.unique(stacked, axis=0, return_inverse=True)[1]).ravel().astype(np.int64)
