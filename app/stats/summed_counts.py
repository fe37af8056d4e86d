"""The chance that counts from several clusters add up to enough.

In each state of what all clusters share the counts are independent; their sum is taken to be beta
distributed between 0 and the most it can be, with half a count as correction.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.special import betainc

from app.stats.share_grids import Floats

_LEAST_VARIANCE = 1e-9


@dataclass(frozen=True, kw_only=True)
class CountInStates:
    """Mean and variance of one cluster's count in each state, and the most it can be."""

    means: Floats = field(repr=False)
    variances: Floats = field(repr=False)
    most: float

    @classmethod
    def of(cls, masses: Floats, *, values: Floats, within: Floats, most: float) -> "CountInStates":
        """Return the moments of a count with these masses, (states, values), rows summing to 1.

        `within` is the variance of the count at each value.
        """
        means = masses @ values
        variances = masses @ (values**2 + within) - means**2
        return cls(means=means, variances=np.maximum(variances, 0.0), most=most)


def summed(counts: Sequence[CountInStates], *, states: int) -> CountInStates:
    """Return the sum of independent counts; of none, nothing in every state."""
    nothing = np.zeros(states)
    return CountInStates(
        means=sum((count.means for count in counts), start=nothing),
        variances=sum((count.variances for count in counts), start=nothing),
        most=sum(count.most for count in counts),
    )


def chance_of_sum(total: CountInStates, *, masses: Floats, wanted: int) -> float:
    """Return P(sum >= wanted), 0 to 1; `masses` are those of the states, summing to 1."""
    if wanted <= 0:
        return 1.0
    if total.most < wanted:
        return 0.0
    share = np.clip(total.means / total.most, 1e-9, 1.0 - 1e-9)
    variance = np.maximum(total.variances / total.most**2, _LEAST_VARIANCE)
    k = np.maximum(share * (1.0 - share) / variance - 1.0, 1e-9)
    missing = 1.0 - (wanted - 0.5) / total.most
    return float(masses @ betainc(k * (1.0 - share), k * share, missing))
