"""Comparing two levels: published fits, a reference library, and like with like."""

from pathlib import Path

import numpy as np
import pytest
import statsmodels.api as sm

from app.stats.adjusted_differences import fit_logistic, standardised_difference
from app.stats.stratified import permutation_value, stratified_difference

SEEDS = Path(__file__).parent.parent / "data" / "crowder_seeds.csv"


def _seeds() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rows = np.genfromtxt(SEEDS, delimiter=",", skip_header=3, names=True, encoding="utf-8")
    r, n, x1, x2 = (rows[name] for name in ("germinated", "n", "x1", "x2"))
    return np.column_stack([np.ones(len(r)), x1, x2, x1 * x2]), r / n, n


def test_plain_logistic_of_the_seeds_plates() -> None:
    # Crowder (1978) Applied Statistics 27:34-37, Table 3; COMPUTED with statsmodels 0.15.0 and
    # equal to several published analyses: coefficients and standard errors to 1e-4
    design, shares, sizes = _seeds()
    fit = fit_logistic(design, shares=shares, weights=sizes, ridge_sd=None)
    assert fit.coefficients == pytest.approx([-0.5582, 0.1459, 1.3182, -0.7781], abs=1e-4)
    errors = np.sqrt(np.diag(fit.covariance))
    assert errors == pytest.approx([0.1260, 0.2232, 0.1775, 0.3064], abs=1e-4)
    assert fit.dispersion == pytest.approx(1.861832, abs=1e-5)
    assert errors * np.sqrt(fit.dispersion) == pytest.approx(
        [0.1719, 0.3046, 0.2422, 0.4181], abs=1e-4
    )


def test_agrees_with_the_reference_library_on_weighted_shares() -> None:
    rng = np.random.default_rng(11)
    design = np.column_stack([np.ones(80), rng.integers(0, 2, (80, 3))]).astype(float)
    weights = rng.uniform(1.0, 8.0, 80)
    shares = rng.binomial(20, 0.6, 80) / 20.0
    ours = fit_logistic(design, shares=shares, weights=weights, ridge_sd=None)
    theirs = sm.GLM(shares, design, family=sm.families.Binomial(), var_weights=weights).fit()
    assert ours.coefficients == pytest.approx(theirs.params, abs=1e-6)
    assert np.sqrt(np.diag(ours.covariance)) == pytest.approx(theirs.bse, abs=1e-6)


def test_separated_data_give_a_finite_answer() -> None:
    design = np.column_stack([np.ones(8), [0, 0, 0, 0, 1, 1, 1, 1]]).astype(float)
    shares = np.array([0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0])
    fit = fit_logistic(design, shares=shares, weights=np.full(8, 6.0))
    one, other = design.copy(), design.copy()
    one[:, 1], other[:, 1] = 1.0, 0.0
    difference = standardised_difference(fit, with_level=one, without=other)
    assert 0.5 < difference.points < 1.0
    assert -1.0 <= difference.low < difference.points < difference.high <= 1.0


def test_without_other_factors_it_is_the_plain_difference() -> None:
    design = np.column_stack([np.ones(6), [0, 0, 0, 1, 1, 1]]).astype(float)
    shares = np.array([0.3, 0.4, 0.5, 0.6, 0.7, 0.8])
    fit = fit_logistic(design, shares=shares, weights=np.full(6, 10.0), ridge_sd=None)
    one, other = design.copy(), design.copy()
    one[:, 1], other[:, 1] = 1.0, 0.0
    difference = standardised_difference(fit, with_level=one, without=other)
    assert difference.points == pytest.approx(0.3, abs=1e-9)
    assert (difference.low + difference.high) / 2.0 == pytest.approx(0.3, abs=1e-9)


def test_the_chance_of_a_difference_turns_at_its_limits() -> None:
    # An interval that ends at zero is one of 95 % with a two-sided probability of 5 %.
    design = np.column_stack([np.ones(8), [0, 0, 0, 0, 1, 1, 1, 1]]).astype(float)
    shares = np.array([0.3, 0.4, 0.5, 0.5, 0.5, 0.6, 0.7, 0.8])
    fit = fit_logistic(design, shares=shares, weights=np.full(8, 4.0))
    one, other = design.copy(), design.copy()
    one[:, 1], other[:, 1] = 1.0, 0.0
    sides = {"with_level": one, "without": other}
    wide = standardised_difference(fit, **sides)
    touching = standardised_difference(fit, level=1.0 - wide.chance, **sides)
    assert touching.low == pytest.approx(0.0, abs=1e-9)


def test_stratified_difference_of_the_plum_root_cuttings() -> None:
    # Bartlett (1935) J. R. Statist. Soc. Suppl. 2:248-252: 240 cuttings a cell. Planted now
    # against in spring, stratified by length: Mantel-Haenszel risk difference 0.308333 (COMPUTED)
    shares = np.array([156, 84, 107, 31]) / 240.0
    found = stratified_difference(
        shares,
        weights=np.full(4, 240.0),
        treated=np.array([1.0, 0.0, 1.0, 0.0]),
        strata=np.array([0, 0, 1, 1]),
    )
    assert found.points == pytest.approx(0.308333, abs=1e-6)
    assert found.like_with_like == 480.0


def test_a_stratum_with_one_side_only_adds_nothing() -> None:
    shares = np.array([0.65, 0.35, 0.9])
    treated = np.array([1.0, 0.0, 1.0])
    found = stratified_difference(
        shares, weights=np.full(3, 10.0), treated=treated, strata=np.array([0, 0, 1])
    )
    assert found.points == pytest.approx(0.30)
    assert found.like_with_like == 10.0


def test_nothing_to_compare_is_said() -> None:
    rng = np.random.default_rng(1)
    data = {
        "weights": np.full(2, 5.0),
        "treated": np.array([1.0, 0.0]),
        "strata": np.array([0, 1]),
    }
    found = stratified_difference(np.array([0.2, 0.8]), **data)
    assert (found.points, found.like_with_like) == (None, 0.0)
    assert permutation_value(np.array([0.2, 0.8]), rng=rng, **data) is None


def test_permutation_value_of_a_case_that_can_be_counted() -> None:
    # Three against three in one stratum: of 20 ways to deal the labels, two are as extreme.
    shares = np.array([0.1, 0.2, 0.3, 0.7, 0.8, 0.9])
    treated = np.array([0.0, 0.0, 0.0, 1.0, 1.0, 1.0])
    value = permutation_value(
        shares,
        weights=np.ones(6),
        treated=treated,
        strata=np.zeros(6, dtype=int),
        rng=np.random.default_rng(5),
        times=4000,
    )
    assert value == pytest.approx(2 / 20, abs=0.02)
