"""How much of a label the expectation swallowed: beside the fit that knows the label."""

import numpy as np
import pytest

from app.stats.adjusted_differences import fit_logistic
from app.stats.category_columns import category_columns
from app.stats.label_leverages import label_leverages


def test_without_other_factors_it_is_the_label_s_part_of_all() -> None:
    # With an intercept alone the hat matrix spreads every residual evenly.
    labels = np.array([0] * 10 + [1] * 30)
    shares = np.full(40, 0.5)
    design, weights = np.ones((40, 1)), np.full(40, 6.0)
    fit = fit_logistic(design, shares=shares, weights=weights, ridge_sd=None)
    found = label_leverages(design, fit=fit, weights=weights, rows=np.arange(40), labels=labels)
    assert found == pytest.approx([0.25, 0.75], abs=1e-9)


def test_a_label_that_is_a_category_of_the_fit_is_swallowed_whole() -> None:
    labels = np.repeat([0, 1, 2], 8)
    design = np.column_stack([np.ones(24), category_columns(labels)])
    shares = np.random.default_rng(2).beta(4, 3, 24)
    fit = fit_logistic(design, shares=shares, weights=np.full(24, 5.0), ridge_sd=None)
    found = label_leverages(
        design, fit=fit, weights=np.full(24, 5.0), rows=np.arange(24), labels=labels
    )
    assert found == pytest.approx([1.0, 1.0, 1.0], abs=1e-9)


def test_dividing_by_it_gives_back_the_difference_put_in() -> None:
    # One label of four does easier genera and is 12 points worse: the residuals alone say less.
    rng = np.random.default_rng(9)
    labels, genus = rng.integers(0, 4, 4000), rng.integers(0, 6, 4000)
    genus[(labels == 0) & (rng.random(4000) < 0.6)] = 5
    weights = np.full(4000, 6.0)
    shares = rng.beta(6, 6, 4000) + 0.03 * (genus - 3) - 0.12 * (labels == 0)
    shares = np.clip(shares, 0.0, 1.0)
    design = np.column_stack([np.ones(4000), category_columns(genus)])
    fit = fit_logistic(design, shares=shares, weights=weights, ridge_sd=None)
    leverage = label_leverages(
        design, fit=fit, weights=weights, rows=np.arange(4000), labels=labels
    )
    mine = labels == 0
    left = float((shares - fit.fitted)[mine].mean())
    assert left > -0.095
    assert left / (1.0 - leverage[0]) == pytest.approx(-0.12, abs=0.012)
