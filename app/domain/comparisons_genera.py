"""A comparison genus by genus: each one's own difference, leaning on those of all the others."""

from dataclasses import dataclass

import numpy as np

from app.domain.comparisons_models import FACTOR_COLUMN, Compared, FactorFit
from app.domain.comparisons_verdicts import Verdict, verdict_of_range
from app.stats.varying_differences import varying_differences


@dataclass(frozen=True, kw_only=True)
class GenusDifference:
    """One genus: its batches on each side, and its difference (-1 to 1) with its limits."""

    genus: int
    one: int
    other: int
    points: float
    low: float
    high: float

    @property
    def verdict(self) -> Verdict:
        """What its range allows to be said."""
        return verdict_of_range(self.low, high=self.high)


@dataclass(frozen=True, kw_only=True)
class GenusDifferences:
    """The genera that have a batch on either side, in the order of their numbers.

    `spread` is how much genera differ in the effect, an sd on the logit scale.
    """

    lines: tuple[GenusDifference, ...]
    spread: float

    def of(self, genus: int) -> GenusDifference | None:
        """Return the line of a genus, None where it has no batch."""
        return next((line for line in self.lines if line.genus == genus), None)


def genus_differences(matter: Compared, *, fitted: FactorFit) -> GenusDifferences | None:
    """Return the differences of all genera, or None where there are not two to lean on each other.

    `fitted` is the regression of the same batches, in which all genera have one effect.
    A genus with batches on one side only leans wholly on the others.
    """
    genera, places = np.unique(matter.batches.genus, return_inverse=True)
    if len(genera) < 2:
        return None
    found = varying_differences(
        fitted.design,
        shares=matter.shares,
        weights=matter.weights,
        plain=fitted.fit,
        groups=places.astype(np.int64),
        factor=FACTOR_COLUMN,
    )
    numbers = np.bincount(places)
    ones = np.bincount(places, weights=matter.sides).astype(np.int64)
    lines = tuple(
        GenusDifference(
            genus=int(genus),
            one=int(ones[place]),
            other=int(numbers[place] - ones[place]),
            points=float(found.points[place]),
            low=float(found.low[place]),
            high=float(found.high[place]),
        )
        for place, genus in enumerate(genera)
    )
    return GenusDifferences(lines=lines, spread=found.spread)
