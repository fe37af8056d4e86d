"""How much of a label's own outcome an expectation fitted to all clusters already took in."""

import numpy as np
from scipy.sparse import csr_matrix

from app.stats.adjusted_differences import LogisticFit
from app.stats.share_grids import Floats
from app.stats.trees import Ints


def label_leverages(
    design: Floats, *, fit: LogisticFit, weights: Floats, rows: Ints, labels: Ints
) -> Floats:
    """Return per label (0 up to the largest met) its leverage, 0 to 1.

    `rows` and `labels` say which cluster carries which label; a cluster may carry several. With
    v = w mu (1 - mu) and the label's sum of rows g = X' v d it is g' (X' V X + L)^-1 g / d' v d,
    L being the fit's ridge: the part of the label's deviation that the fit has swallowed.

    Source: leverages of generalised linear models, P. McCullagh and J. A. Nelder (1989),
    Generalized Linear Models, section 12.7 (from memory), summed over a group. Checked against
    the refit with the label as a factor.
    """
    scatter = weights * fit.fitted * (1.0 - fit.fitted)
    shape = (int(labels.max(initial=-1)) + 1, len(weights))
    carried = csr_matrix((scatter[rows], (labels, rows)), shape=shape)
    sums = np.asarray(carried @ design)
    own = np.maximum(np.asarray(carried.sum(axis=1)).ravel(), 1e-300)
    return np.asarray(np.clip((sums @ fit.covariance * sums).sum(axis=1) / own, 0.0, 1.0))
