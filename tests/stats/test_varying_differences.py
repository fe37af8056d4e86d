"""Effects that vary from group to group: simulated truth beside separate fits."""

import numpy as np
import pytest
from numpy.random import Generator
from scipy.special import expit

from app.stats.adjusted_differences import fit_logistic, standardised_difference
from app.stats.category_columns import category_columns
from app.stats.varying_differences import GroupDifferences, varying_differences

CORRELATION = 0.08
GROUPS = 8


class Drawn:
    """Batches of eight genera whose effects scatter round one logit; true points beside."""

    def __init__(self, rng: Generator, *, batches: int = 160, spread: float = 0.3) -> None:
        genus = rng.integers(0, GROUPS, batches)
        self.groups = genus
        self.treated = (rng.random(batches) < 0.4).astype(float)
        base = np.linspace(-1.0, 1.0, GROUPS)
        effects = rng.normal(0.4, spread, GROUPS)
        sizes = np.clip(np.exp(rng.normal(3.4, 0.8, batches)), 4, 300).round()
        rates = expit(base[genus] + effects[genus] * self.treated)
        k = 1.0 / CORRELATION - 1.0
        own = rng.beta(k * rates, k * (1.0 - rates))
        self.shares = rng.binomial(sizes.astype(int), own) / sizes
        self.weights = sizes / (1.0 + (sizes - 1.0) * CORRELATION)
        self.truth = expit(base + effects) - expit(base)
        self.design = np.column_stack([np.ones(batches), self.treated, category_columns(genus)])

    def leaning(self) -> GroupDifferences:
        plain = fit_logistic(self.design, shares=self.shares, weights=self.weights)
        return varying_differences(
            self.design,
            shares=self.shares,
            weights=self.weights,
            plain=plain,
            groups=self.groups,
        )

    def alone(self, group: int) -> float:
        mine = self.groups == group
        with_it, without = (mine & (self.treated == side) for side in (1.0, 0.0))
        if not (with_it.any() and without.any()):
            return float("nan")
        means = [np.average(self.shares[s], weights=self.weights[s]) for s in (with_it, without)]
        return float(means[0] - means[1])


def test_leaning_is_closer_to_the_truth_than_each_group_alone() -> None:
    rng = np.random.default_rng(31)
    gaps, alone, covered = [], [], []
    for _ in range(60):
        drawn = Drawn(rng)
        found = drawn.leaning()
        gaps += list(found.points - drawn.truth)
        alone += [drawn.alone(group) - drawn.truth[group] for group in range(GROUPS)]
        covered += list((found.low <= drawn.truth) & (drawn.truth <= found.high))
    lone = float(np.sqrt(np.nanmean(np.square(alone))))
    leaning = float(np.sqrt(np.mean(np.square(gaps))))
    assert leaning < 0.8 * lone, (leaning, lone)
    assert abs(np.mean(gaps)) < 0.015
    assert 0.93 <= np.mean(covered) <= 0.99


def test_groups_that_do_not_differ_lean_close_together() -> None:
    spreads = [Drawn(np.random.default_rng(seed), spread=0.0).leaning() for seed in range(5)]
    wide = [Drawn(np.random.default_rng(seed), spread=0.8).leaning() for seed in range(5)]
    assert np.mean([one.spread for one in spreads]) < np.mean([one.spread for one in wide])


def test_one_group_gives_nearly_the_plain_difference_with_more_doubt() -> None:
    drawn = Drawn(np.random.default_rng(8))
    design = drawn.design[:, :2]
    plain = fit_logistic(design, shares=drawn.shares, weights=drawn.weights)
    one, other = design.copy(), design.copy()
    one[:, 1], other[:, 1] = 1.0, 0.0
    whole = standardised_difference(plain, with_level=one, without=other)
    found = varying_differences(
        design,
        shares=drawn.shares,
        weights=drawn.weights,
        plain=plain,
        groups=np.zeros(len(drawn.shares), dtype=int),
    )
    assert found.points[0] == pytest.approx(whole.points, abs=0.01)
    assert found.se[0] >= 0.95 * whole.se


def test_a_group_of_one_side_only_leans_on_the_others() -> None:
    drawn = Drawn(np.random.default_rng(12))
    keep = ~((drawn.groups == 3) & (drawn.treated == 1.0))
    design = drawn.design[keep]
    shares, weights = drawn.shares[keep], drawn.weights[keep]
    plain = fit_logistic(design, shares=shares, weights=weights)
    found = varying_differences(
        design, shares=shares, weights=weights, plain=plain, groups=drawn.groups[keep]
    )
    assert found.low[3] < found.points[3] < found.high[3]
    assert found.se[3] > np.delete(found.se, 3).min()


def test_a_group_without_clusters_has_no_figure() -> None:
    drawn = Drawn(np.random.default_rng(2))
    groups = np.where(drawn.groups >= 4, drawn.groups + 1, drawn.groups)
    plain = fit_logistic(drawn.design, shares=drawn.shares, weights=drawn.weights)
    found = varying_differences(
        drawn.design, shares=drawn.shares, weights=drawn.weights, plain=plain, groups=groups
    )
    assert np.isnan(found.points[4])
    assert np.isfinite(np.delete(found.points, 4)).all()
