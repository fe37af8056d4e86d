"""Two levels of a factor compared, with the other things batches differ in held alike.

Rows are batches, weighted by their effective cuttings; a logistic regression on the factor and on
what is held alike gives the difference in points, and checks stand beside it.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from app.domain.comparisons_batches import LoggedBatches, Outcomes
from app.domain.comparisons_checks import LikeWithLike, Together, like_with_like, together
from app.domain.comparisons_designs import Held, design_columns
from app.domain.comparisons_models import Compared, FactorFit, compared, fit_factor
from app.domain.comparisons_questions import Factor
from app.domain.comparisons_verdicts import MATTERS, WIDE, Verdict, verdict_of
from app.stats.adjusted_differences import Difference
from app.stats.comparable_shares import comparable_share
from app.stats.sample_sizes import clusters_needed, pair_variance
from app.stats.share_grids import Bools

_NEAREST_EDGE: Final = 0.01


@dataclass(frozen=True, kw_only=True)
class Side:
    """The batches of one level: counts in cuttings, shares 0 to 1.

    `nearly` of the batches are not finished but nearly so; `left_out` counts further batches, of
    which too much is unknown. `plain_share` is the mean of the batches' shares weighted by
    effective cuttings, `like_share` what all batches compared would have done on this side.
    """

    batches: int
    nearly: int
    left_out: int
    stuck: int
    rooted: int
    unknown: int
    effective: float
    plain_share: float | None
    like_share: float | None


@dataclass(frozen=True, kw_only=True)
class Model:
    """What the difference was worked out with; `usual_size` is the median number stuck."""

    held: tuple[Held, ...]
    columns: int
    dispersion: float
    correlation: float
    usual_size: int


@dataclass(frozen=True, kw_only=True)
class MoreBatches:
    """How many more batches of the usual size on each side would show a difference (0 to 1)."""

    each_way: int
    points: float


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """Everything found out: `one` less `other`, differences -1 to 1, `comparable` 0 to 1.

    `difference`, `check` and `model` are None where one side has no batch, `more` where no more
    are asked for, `together` where the two sides can be told from everything else.
    """

    one: Side
    other: Side
    verdict: Verdict
    difference: Difference | None = None
    comparable: float = 0.0
    together: Together | None = None
    check: LikeWithLike | None = None
    model: Model | None = None
    more: MoreBatches | None = None

    @property
    def batches(self) -> int:
        """The batches compared, of both sides."""
        return self.one.batches + self.other.batches

    @property
    def plain_points(self) -> float | None:
        """The difference of the plain shares, nothing held alike."""
        if self.one.plain_share is None or self.other.plain_share is None:
            return None
        return self.one.plain_share - self.other.plain_share


def compare(
    batches: LoggedBatches,
    *,
    sides: Bools,
    outcomes: Outcomes,
    factor: Factor,
    correlation: float,
) -> Comparison:
    """Return the comparison of the batches where `sides` is true with the others.

    `correlation` is that of two cuttings of one batch. Batches whose outcome is not usable are
    counted as left out.
    """
    matter = compared(
        batches,
        sides=sides.astype(np.float64),
        outcomes=outcomes,
        factor=factor,
        correlation=correlation,
    )
    return compare_fitted(
        batches, sides=sides, outcomes=outcomes, matter=matter, fitted=fit_factor(matter)
    )


def compare_fitted(
    batches: LoggedBatches,
    *,
    sides: Bools,
    outcomes: Outcomes,
    matter: Compared,
    fitted: FactorFit | None,
) -> Comparison:
    """Return the same where the regression is there already.

    `matter` holds those of them whose outcome is usable, the others are counted as left out;
    `fitted` is the regression of `matter`, None where one side has no batch.
    """
    one, other = (
        _side(batches, sides == side, outcomes, correlation=matter.correlation, like_share=share)
        for side, share in (
            (True, fitted.one if fitted else None),
            (False, fitted.other if fitted else None),
        )
    )
    if fitted is None:
        return Comparison(one=one, other=other, verdict=Verdict.NOTHING)
    return _judged(matter, fitted, one=one, other=other)


def _judged(matter: Compared, fitted: FactorFit, *, one: Side, other: Side) -> Comparison:
    columns = design_columns(matter.alike, count=matter.batches.count)
    comparable = comparable_share(matter.sides, weights=matter.weights, columns=columns)
    check = like_with_like(
        matter.batches,
        sides=matter.sides,
        shares=matter.shares,
        weights=matter.weights,
        factor=matter.factor,
    )
    verdict = verdict_of(
        min(one.batches, other.batches),
        comparable=comparable,
        alike=check.met,
        low=fitted.difference.low,
        high=fitted.difference.high,
    )
    model = Model(
        held=tuple(each.held for each in matter.alike),
        columns=fitted.design.shape[1],
        dispersion=fitted.fit.dispersion,
        correlation=matter.correlation,
        usual_size=int(np.median(matter.batches.stuck)),
    )
    return Comparison(
        one=one,
        other=other,
        verdict=verdict,
        difference=fitted.difference,
        comparable=comparable,
        together=together(
            matter.alike, sides=matter.sides, weights=matter.weights, comparable=comparable
        ),
        check=check,
        model=model,
        more=more_batches(fitted.difference, share=fitted.other, model=model)
        if verdict in {Verdict.NOT_ENOUGH, Verdict.NOT_LARGE}
        else None,
    )


def more_batches(difference: Difference, *, share: float, model: Model) -> MoreBatches:
    """Return how many more batches each way would show ten points, or five where ten show already.

    Eight times in ten, beside batches of the usual size dealt out evenly. What the batches so far
    tell is taken off: they are worth the variance of a pair over the squared standard error.
    `share` (0 to 1) is that of the other side.
    """
    found = MoreBatches(each_way=1, points=MATTERS)
    for points in (WIDE, MATTERS):
        ahead = share + points if difference.points >= 0.0 else share - points
        if not _NEAREST_EDGE <= ahead <= 1.0 - _NEAREST_EDGE:
            ahead = 2.0 * share - ahead
        size, correlation = model.usual_size, model.correlation
        pair = pair_variance(ahead, other=share, size=size, correlation=correlation)
        pair *= max(1.0, model.dispersion)
        total = clusters_needed(ahead, other=share, size=size, correlation=correlation)
        found = MoreBatches(
            each_way=int(np.ceil(total * max(1.0, model.dispersion) - pair / difference.se**2)),
            points=points,
        )
        if found.each_way >= 1:
            return found
    return MoreBatches(each_way=1, points=found.points)


def _side(
    batches: LoggedBatches,
    which: Bools,
    outcomes: Outcomes,
    *,
    correlation: float,
    like_share: float | None,
) -> Side:
    known = outcomes.chosen(which & outcomes.usable)
    mine = batches.chosen(which & outcomes.usable)
    weights = known.weights(correlation=correlation)
    worth = float(weights.sum())
    return Side(
        batches=mine.count,
        nearly=int(known.nearly.sum()),
        left_out=int(which.sum()) - mine.count,
        stuck=int(mine.stuck.sum()),
        rooted=int(mine.rooted.sum()),
        unknown=int(mine.unknown.sum()),
        effective=worth,
        plain_share=float((weights * known.shares).sum()) / worth if worth else None,
        like_share=like_share,
    )
