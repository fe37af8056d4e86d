"""How often chance alone would do as much, from the moments of all shuffles instead of shuffles.

Where many clusters are compared, shuffling labels inside strata a thousand times is slow and the
sum it looks at is as good as normal; its mean and variance over all shuffles are known exactly.

Source: the first two moments and the limit of linear permutation statistics, W. Hoeffding (1951),
Annals of Mathematical Statistics 22:558-566 (from memory).
"""

import math
from typing import Final

import numpy as np

from app.stats.share_grids import Floats
from app.stats.trees import Ints

_ROUNDING: Final = 1e-20


def permutation_value_by_moments(
    shares: Floats, *, weights: Floats, treated: Floats, strata: Ints
) -> float | None:
    """Return the two-sided share of label shuffles inside strata that would differ as much.

    It looks at the sum over the treated clusters of weight times (share less the stratum's
    weighted mean). Arguments as for `stratified.permutation_value`. None where no stratum holds
    both sides; 1 where every stratum's clusters are alike.
    """
    numbers = np.bincount(strata).astype(np.float64)
    chosen = np.bincount(strata, weights=treated)
    mixed = (chosen > 0.0) & (chosen < numbers)
    if not mixed.any():
        return None
    totals = np.bincount(strata, weights=weights)
    means = np.bincount(strata, weights=weights * shares) / np.maximum(totals, 1e-300)
    scores = weights * (shares - means[strata])
    squares = np.bincount(strata, weights=scores**2)
    per_stratum = chosen * (numbers - chosen) / np.maximum(numbers * (numbers - 1.0), 1.0) * squares
    variance = float(per_stratum[mixed].sum())
    if variance <= _ROUNDING * float((weights**2).sum()):
        return 1.0
    found = float((scores * treated)[mixed[strata]].sum())
    return math.erfc(abs(found) / math.sqrt(2.0 * variance))
