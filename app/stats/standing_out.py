"""Who stands out below the rest, after allowing for what each one was given to do.

Observed less expected per label in effective counts, leaning on how much labels differ at all:

d | delta ~ N(delta, se^2),  delta ~ tau t_4,  tau half-normal with sd 0.1,

all of it integrated on grids. Student's t lets one label lie far out among others that are alike;
with a normal scatter it would be pulled in with them and not be found.

Sources: additive random effects for comparing units, D. J. Spiegelhalter (2005), Quality and
Safety in Health Care 14:347-351; t scatter for outlying units, K. L. Lange, R. J. A. Little and
J. M. G. Taylor (1989), J. Amer. Statist. Assoc. 84:881-896; half-normal prior of a scatter,
A. Gelman (2006), Bayesian Analysis 1:515-534 (both from memory).
"""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from app.stats.share_grids import Floats
from app.stats.trees import Ints

MARGIN: Final = 0.05
FEWEST_CLUSTERS: Final = 3
SCATTER_SD: Final = 0.1
_TAIL_DF: Final = 4.0
_SCATTERS: Final = (np.arange(60) + 0.5) * 0.005
_DIFFERENCES: Final = np.linspace(-1.0, 1.0, 801)


@dataclass(frozen=True, kw_only=True)
class LabelDifference:
    """One label: its difference from the rest in points, and how sure one may be.

    `difference` is observed less expected (-1 to 1), `se` its standard error, `shrunk` the mean
    difference after leaning on the others, `effective` the effective count, `worse` the
    probability (0 to 1) that the label is more than five points below.
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

    `expected` is each cluster's share (0 to 1) from a fit that does not know the label,
    `leverage` how much of its label's difference that fit has taken in (0 to below 1, per
    cluster, as from `label_leverages`), `dispersion` the scatter left over.
    """
    found = [
        _raw(label, shares, expected, weights, leverage, labels, dispersion)
        for label in np.unique(labels)
    ]
    kept = [entry for entry in found if entry.clusters >= FEWEST_CLUSTERS]
    return _leaning(kept)


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


def _leaning(entries: list[LabelDifference]) -> tuple[LabelDifference, ...]:
    """Return the entries with what they say together about each."""
    if not entries:
        return ()
    differences = np.array([entry.difference for entry in entries])
    errors = np.array([entry.se for entry in entries])
    likelihood = np.exp(-0.5 * ((differences[:, None] - _DIFFERENCES) / errors[:, None]) ** 2)
    scattered = (1.0 + (_DIFFERENCES / _SCATTERS[:, None]) ** 2 / _TAIL_DF) ** (
        -(_TAIL_DF + 1.0) / 2.0
    )
    scattered /= scattered.sum(axis=1, keepdims=True)
    marginals = likelihood @ scattered.T
    logs = np.log(np.maximum(marginals, 1e-300)).sum(axis=0) - 0.5 * (_SCATTERS / SCATTER_SD) ** 2
    weights = np.exp(logs - logs.max())
    masses = likelihood * ((weights / weights.sum() / np.maximum(marginals, 1e-300)) @ scattered)
    masses /= masses.sum(axis=1, keepdims=True)
    # The point at the margin itself counts half, as its bin lies half below it.
    below = (_DIFFERENCES < -MARGIN - 1e-9) + 0.5 * (np.abs(_DIFFERENCES + MARGIN) < 1e-9)
    return tuple(
        replace(entry, shrunk=float(row @ _DIFFERENCES), worse=float(row @ below))
        for entry, row in zip(entries, masses, strict=True)
    )
