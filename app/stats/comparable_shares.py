"""How much of a factor is left to compare once what went together with it is taken out."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from app.stats.share_grids import Floats
from app.stats.trees import Ints

_NOTHING: Final = 1e-12


def comparable_share(treated: Floats, *, weights: Floats, columns: Floats) -> float:
    """Return the weighted residual variance of the factor after the columns over its variance.

    `treated` is 1 or 0 per cluster; `columns` (clusters, any number) begin with a column of ones.
    1 means that the factor went with none of them, 0 that they say it outright. 0 as well where
    the factor does not vary.
    """
    total = float(weights.sum())
    mean = float((weights * treated).sum()) / total
    variance = float((weights * (treated - mean) ** 2).sum())
    if variance <= _NOTHING * total:
        return 0.0
    weighed = columns * weights[:, None]
    slopes = np.linalg.lstsq(columns.T @ weighed, weighed.T @ treated, rcond=None)[0]
    residual = float((weights * (treated - columns @ slopes) ** 2).sum())
    return min(max(residual / variance, 0.0), 1.0)


@dataclass(frozen=True, kw_only=True)
class Companion:
    """How closely one category went with the factor.

    `share` is what is left to compare inside its levels (0 to 1); `level` the one whose clusters
    went most with one side, `treated` whether that was the treated one, and `match` (0 to 1) the
    squared correlation of being of the level with being on that side.
    """

    share: float
    level: int
    treated: bool
    match: float


def companion(treated: Floats, *, weights: Floats, levels: Ints) -> Companion:
    """Return how closely a category (a number per cluster) went with the factor (1 or 0)."""
    values, codes = np.unique(levels, return_inverse=True)
    total = np.bincount(codes, weights=weights)
    inside = np.bincount(codes, weights=weights * treated)
    whole, mean = float(total.sum()), float(inside.sum()) / float(total.sum())
    variance = whole * mean * (1.0 - mean)
    left = float((inside * (1.0 - inside / total)).sum())
    # The covariance of the factor with being of the level, over the spread of the latter.
    spread = np.sqrt(np.maximum(total * (whole - total), _NOTHING))
    scores = (inside - mean * total) / spread
    # Of two that went as closely, one with each side, the one that went with the treated side.
    closeness = np.abs(scores)
    closeness[scores > 0.0] *= 1.0 + 1e-9
    place = int(closeness.argmax())
    return Companion(
        share=left / variance if variance > _NOTHING else 0.0,
        level=int(values[place]),
        treated=bool(scores[place] > 0.0),
        match=float(scores[place] ** 2 / variance) * whole if variance > _NOTHING else 0.0,
    )
