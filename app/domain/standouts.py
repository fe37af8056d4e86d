"""Who or what did worse than was to be expected of the work done: people, benches, mixes, plants.

Each batch's share is expected from its genus, method and month; a label's batches are held
against that. What is pointed at follows from the chance that a label is truly more than five
points below the rest, never from a bare rate.
"""

from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from app.domain.comparisons_batches import LoggedBatches, Outcomes
from app.domain.comparisons_designs import design_columns, held_alike
from app.domain.standouts_calls import Call, call_of
from app.stats.adjusted_differences import LogisticFit, fit_logistic
from app.stats.label_leverages import label_leverages
from app.stats.share_grids import Floats
from app.stats.standing_out import FEWEST_CLUSTERS, LabelDifference, label_differences
from app.stats.trees import Ints

FEWEST_LABELS: Final = 2
# Where the expectation has swallowed more of a label than this, too little is left to judge by.
MOST_SWALLOWED: Final = 0.95


@dataclass(frozen=True, kw_only=True)
class LabelledBatches:
    """Which batch carries which label: `rows` are places of batches, `labels` ids of labels.

    A batch may carry several, such as two stock plants, or none.
    """

    rows: Ints = field(repr=False)
    labels: Ints = field(repr=False)


@dataclass(frozen=True, kw_only=True)
class Standout:
    """One label: its `observed` share (0 to 1), its difference (-1 to 1), and what is said.

    `worse` (0 to 1) is the chance that it is more than five points below the rest; `shrunk` the
    difference after leaning on the others.
    """

    label: int
    batches: int
    effective: float
    observed: float
    difference: float
    se: float
    shrunk: float
    worse: float

    @property
    def expected(self) -> float:
        """The share (0 to 1) that the rest makes one expect of these batches."""
        return min(max(self.observed - self.difference, 0.0), 1.0)

    @property
    def call(self) -> Call:
        """What is said of it."""
        return call_of(self.worse)


@dataclass(frozen=True, kw_only=True)
class Standouts:
    """Labels with at least three batches, the likeliest to be worse first.

    `too_few` counts the labels with fewer, `inseparable` those that nearly always went with a
    plant, method or month of their own. `scatter` is the variance of one effective cutting
    round what is expected, on which the limits of the picture rest. `batches` is how many were
    reckoned with, `held` what their expectation rests on.
    """

    lines: tuple[Standout, ...]
    too_few: int
    inseparable: int
    scatter: float
    dispersion: float
    batches: int
    held: tuple[str, ...]

    def only(self, label: int) -> "Standouts":
        """Return the same with the line of one label alone."""
        return Standouts(
            lines=tuple(line for line in self.lines if line.label == label),
            too_few=0,
            inseparable=0,
            scatter=self.scatter,
            dispersion=self.dispersion,
            batches=self.batches,
            held=self.held,
        )


def standouts(
    batches: LoggedBatches,
    *,
    labelled: LabelledBatches,
    outcomes: Outcomes,
    correlation: float,
) -> Standouts | None:
    """Return how each label did, or None where there are not two with a batch to hold together.

    `correlation` is that of two cuttings of one batch. Batches whose outcome is not usable are
    left out.
    """
    known, mine, carried = _usable(batches, outcomes, labelled)
    numbers, codes = np.unique(carried.labels, return_inverse=True)
    if len(numbers) < FEWEST_LABELS:
        return None
    weights = mine.weights(correlation=correlation)
    alike = held_alike(known, factor=None, people=False)
    design = design_columns(alike, count=known.count)
    fit = fit_logistic(design, shares=mine.shares, weights=weights)
    labels = LabelledBatches(rows=carried.rows, labels=codes.astype(np.int64))
    leverage = label_leverages(
        design, fit=fit, weights=weights, rows=labels.rows, labels=labels.labels
    )
    lines = _lines(mine.shares, weights=weights, fit=fit, carried=labels, leverage=leverage)
    few = int((np.bincount(codes) < FEWEST_CLUSTERS).sum())
    expected = float((weights * fit.fitted).sum() / weights.sum())
    return Standouts(
        lines=tuple(replace(line, label=int(numbers[line.label])) for line in lines),
        too_few=few,
        inseparable=len(numbers) - len(lines) - few,
        scatter=max(1.0, fit.dispersion) * expected * (1.0 - expected),
        dispersion=fit.dispersion,
        batches=known.count,
        held=tuple(each.held.value for each in alike),
    )


def _lines(
    shares: Floats, *, weights: Floats, fit: LogisticFit, carried: LabelledBatches, leverage: Floats
) -> list[Standout]:
    """Return a line per label that can be judged, labels counted from 0, the worst first."""
    judged = leverage[carried.labels] <= MOST_SWALLOWED
    rows, labels = carried.rows[judged], carried.labels[judged]
    found = label_differences(
        shares[rows],
        expected=fit.fitted[rows],
        weights=weights[rows],
        leverage=leverage[labels],
        labels=labels,
        dispersion=fit.dispersion,
    )
    sums = np.bincount(labels, weights=(weights * shares)[rows])
    lines = [_line(each, observed=float(sums[each.label])) for each in found]
    return sorted(lines, key=lambda line: (-line.worse, line.label))


def _usable(
    batches: LoggedBatches, outcomes: Outcomes, labelled: LabelledBatches
) -> tuple[LoggedBatches, Outcomes, LabelledBatches]:
    """Return the usable batches and the labels they carry, rows renumbered."""
    place = np.cumsum(outcomes.usable) - 1
    kept = outcomes.usable[labelled.rows]
    carried = LabelledBatches(rows=place[labelled.rows[kept]], labels=labelled.labels[kept])
    return batches.chosen(outcomes.usable), outcomes.chosen(outcomes.usable), carried


def _line(found: LabelDifference, *, observed: float) -> Standout:
    """Return the line; `observed` is the sum of weighted shares."""
    share = observed / found.effective
    return Standout(
        label=found.label,
        batches=found.clusters,
        effective=found.effective,
        observed=share,
        # No more than all and no less than none can have been expected.
        difference=min(max(found.difference, share - 1.0), share),
        se=found.se,
        shrunk=found.shrunk,
        worse=found.worse,
    )
