"""Like with like: a difference inside strata, and how often chance alone would do as much.

Sources: N. Mantel and W. Haenszel (1959), J. Nat. Cancer Inst. 22:719-748 (weights, from memory);
permutation within strata, R. A. Fisher (1935), The Design of Experiments (from memory).
"""

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from app.stats.share_grids import Floats
from app.stats.trees import Ints


@dataclass(frozen=True, kw_only=True)
class StratifiedDifference:
    """The weighted difference of shares, and the effective counts that could be compared.

    `points` is None where no stratum holds both levels. `like_with_like` is the sum over strata
    of the smaller side's effective count.
    """

    points: float | None
    like_with_like: float


def stratified_difference(
    shares: Floats, *, weights: Floats, treated: Floats, strata: Ints
) -> StratifiedDifference:
    """Return the difference treated less not, with weights A B / (A + B) per stratum.

    `shares` are per cluster (0 to 1), `weights` their effective counts, `treated` 1 or 0.
    Strata in which one side is empty add nothing.
    """
    with_sum, with_good = _sums(shares, weights * treated, strata)
    bare_sum, bare_good = _sums(shares, weights * (1.0 - treated), strata)
    both = (with_sum > 0) & (bare_sum > 0)
    if not both.any():
        return StratifiedDifference(points=None, like_with_like=0.0)
    a, b = with_sum[both], bare_sum[both]
    gaps = with_good[both] / a - bare_good[both] / b
    per_stratum = a * b / (a + b)
    return StratifiedDifference(
        points=float((per_stratum * gaps).sum() / per_stratum.sum()),
        like_with_like=float(np.minimum(a, b).sum()),
    )


def permutation_value(
    shares: Floats,
    *,
    weights: Floats,
    treated: Floats,
    strata: Ints,
    rng: Generator,
    times: int = 999,
) -> float | None:
    """Return the share of label shuffles inside strata that differ at least as much (two-sided).

    None where nothing can be compared. Exact ties count as "at least as much".
    """
    seen = stratified_difference(shares, weights=weights, treated=treated, strata=strata)
    if seen.points is None:
        return None
    order = np.argsort(strata, kind="stable")
    sorted_strata, labels = strata[order], treated[order]
    hits = 0
    for _ in range(times):
        # A stable sort by stratum of a random order shuffles within each stratum.
        mixed = np.lexsort((rng.random(len(labels)), sorted_strata))
        other = stratified_difference(
            shares[order], weights=weights[order], treated=labels[mixed], strata=sorted_strata
        )
        hits += other.points is not None and abs(other.points) >= abs(seen.points) - 1e-12
    return (hits + 1) / (times + 1)


def _sums(shares: Floats, weights: Floats, strata: Ints) -> tuple[Floats, Floats]:
    total = np.bincount(strata, weights=weights).astype(np.float64)
    good = np.bincount(strata, weights=weights * shares).astype(np.float64)
    return total, good
