"""Who stands out below the rest, after allowing for what each one was given to do.

Observed less expected per label in effective counts, shrunk by how much labels really differ.
Sources: additive random effects for comparing units, D. J. Spiegelhalter (2005), Quality and
Safety in Health Care 14:347-351; between-label variance by R. C. Paule and J. Mandel (1982),
J. Res. Nat. Bur. Standards 87:377-385 (from memory).
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr

from app.stats.share_grids import Floats
from app.stats.trees import Ints

MARGIN: Final = 0.05
FLOOR_SD: Final = 0.02
FEWEST_CLUSTERS: Final = 3
_WINSOR: Final = 2.5


@dataclass(frozen=True, kw_only=True)
class LabelDifference:
    """One label: its difference from the rest in points, and how sure one may be.

    `difference` is observed less expected (-1 to 1), `se` its standard error, `shrunk` the
    difference after leaning on the others, `effective` the effective count, `worse` the
    probability that the label is more than five points below.
    """

    label: int
    clusters: int
    effective: float
    difference: float
    se: float
    shrunk: float
    worse: float


def label_differences(
    shares: Floats,
    *,
    expected: Floats,
    weights: Floats,
    leverage: Floats,
    labels: Ints,
    dispersion: float,
) -> tuple[LabelDifference, ...]:
    """Return one entry per label with at least three clusters.

    `expected` is each cluster's share (0 to 1) without its label, `leverage` how much of its
    label's share the expectation already took in (0 to below 1, per label row of cluster).
    """
    found = [
        _raw(label, shares, expected, weights, leverage, labels, dispersion)
        for label in np.unique(labels)
    ]
    kept = [entry for entry in found if entry.clusters >= FEWEST_CLUSTERS]
    return tuple(_shrunk(entry, kept) for entry in kept)


def _raw(
    label: int,
    shares: Floats,
    expected: Floats,
    weights: Floats,
    leverage: Floats,
    labels: Ints,
    dispersion: float,
) -> LabelDifference:
    mine = labels == label
    w, e = weights[mine], expected[mine]
    total = float(w.sum())
    taken = min(float(leverage[mine].mean()), 0.95)
    difference = float((w * (shares[mine] - e)).sum()) / total / (1.0 - taken)
    variance = max(1.0, dispersion) * float((w * e * (1.0 - e)).sum()) / total**2 / (1.0 - taken)
    return LabelDifference(
        label=int(label),
        clusters=int(mine.sum()),
        effective=total,
        difference=difference,
        se=float(np.sqrt(variance)),
        shrunk=difference,
        worse=0.0,
    )


def _shrunk(entry: LabelDifference, kept: list[LabelDifference]) -> LabelDifference:
    # Left out of the spread it is judged by: with few labels a bad one would hide itself.
    others = [other for other in kept if other is not entry]
    between = max(between_variance(others), FLOOR_SD**2)
    weight = between / (between + entry.se**2)
    mean, sd = entry.difference * weight, float(np.sqrt(between * (1.0 - weight)))
    return LabelDifference(
        label=entry.label,
        clusters=entry.clusters,
        effective=entry.effective,
        difference=entry.difference,
        se=entry.se,
        shrunk=mean,
        worse=float(ndtr((-MARGIN - mean) / sd)),
    )


def between_variance(entries: list[LabelDifference]) -> float:
    """Return Paule and Mandel's variance between labels round zero; 0 if chance explains all."""
    if not entries:
        return 0.0
    reach = _WINSOR * np.median([entry.se for entry in entries]) * 2.0
    gaps = np.clip([entry.difference for entry in entries], -reach, reach)
    errors = np.array([entry.se for entry in entries])

    def excess(variance: float) -> float:
        return float((gaps**2 / (errors**2 + variance)).sum()) - len(entries)

    if excess(0.0) <= 0.0:
        return 0.0
    return float(brentq(excess, 0.0, 4.0))
