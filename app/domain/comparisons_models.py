"""The regression behind a comparison: what goes into it and the difference that comes out."""

from dataclasses import dataclass, field
from typing import Final

import numpy as np

from app.domain.comparisons_batches import LoggedBatches, Outcomes
from app.domain.comparisons_designs import HeldLevels, design_columns, held_alike
from app.domain.comparisons_questions import Factor
from app.stats.adjusted_differences import (
    Difference,
    LogisticFit,
    fit_logistic,
    standardised_difference,
)
from app.stats.share_grids import Floats

FACTOR_COLUMN: Final = 1


@dataclass(frozen=True, kw_only=True)
class Compared:
    """The usable batches of both sides: `sides` is 1 for the first level and 0 for the other.

    `shares` lie from 0 to 1, `weights` are effective cuttings at `correlation`.
    """

    batches: LoggedBatches
    factor: Factor
    correlation: float
    sides: Floats = field(repr=False)
    shares: Floats = field(repr=False)
    weights: Floats = field(repr=False)
    alike: tuple[HeldLevels, ...] = field(repr=False)

    @property
    def has_both(self) -> bool:
        """Whether there is a batch on each side."""
        return 0.0 < float(self.sides.sum()) < self.batches.count


@dataclass(frozen=True, kw_only=True)
class FactorFit:
    """The fitted regression, its design, and what came of it.

    `one` and `other` are the shares (0 to 1) that all batches compared would have had on either
    side, the rest of them as it was; `difference` is the first less the second.
    """

    design: Floats = field(repr=False)
    fit: LogisticFit = field(repr=False)
    one: float
    other: float
    difference: Difference


def compared(
    batches: LoggedBatches,
    *,
    sides: Floats,
    outcomes: Outcomes,
    factor: Factor,
    correlation: float,
) -> Compared:
    """Return the batches whose outcome is usable, with what is held alike among them."""
    known = outcomes.chosen(outcomes.usable)
    kept = batches.chosen(outcomes.usable)
    return Compared(
        batches=kept,
        factor=factor,
        correlation=correlation,
        sides=sides[outcomes.usable],
        shares=known.shares,
        weights=known.weights(correlation=correlation),
        alike=held_alike(kept, factor=factor),
    )


def fit_factor(matter: Compared) -> FactorFit | None:
    """Return the regression of the shares on the factor and on what is held alike.

    None where one side has no batch.
    """
    if not matter.has_both:
        return None
    columns = design_columns(matter.alike, count=matter.batches.count)
    design = np.insert(columns, FACTOR_COLUMN, matter.sides, axis=1)
    fit = fit_logistic(design, shares=matter.shares, weights=matter.weights)
    one, other = design.copy(), design.copy()
    one[:, FACTOR_COLUMN], other[:, FACTOR_COLUMN] = 1.0, 0.0
    return FactorFit(
        design=design,
        fit=fit,
        one=_mean_share(one, fit),
        other=_mean_share(other, fit),
        difference=standardised_difference(fit, with_level=one, without=other),
    )


def _mean_share(design: Floats, fit: LogisticFit) -> float:
    return float((1.0 / (1.0 + np.exp(-(design @ fit.coefficients)))).mean())
