"""Permutation values from moments, beside all shuffles and beside a thousand of them."""

from itertools import combinations
from pathlib import Path
from statistics import NormalDist

import numpy as np
import pytest
from statsmodels.stats.contingency_tables import StratifiedTable

from app.stats.permutation_moments import permutation_value_by_moments
from app.stats.stratified import permutation_value

ADMISSIONS = Path(__file__).parent.parent / "data" / "ucb_admissions.csv"


def test_mean_and_variance_are_those_of_all_shuffles() -> None:
    # Every way to deal two labels among five clusters, counted out.
    shares = np.array([0.2, 0.5, 0.9, 0.4, 0.7])
    weights = np.array([3.0, 5.0, 2.0, 4.0, 6.0])
    scores = weights * (shares - (weights * shares).sum() / weights.sum())
    sums = [sum(scores[list(pair)]) for pair in combinations(range(5), 2)]
    assert np.mean(sums) == pytest.approx(0.0, abs=1e-12)
    treated = np.array([1.0, 0.0, 1.0, 0.0, 0.0])
    value = permutation_value_by_moments(
        shares, weights=weights, treated=treated, strata=np.zeros(5, dtype=int)
    )
    from_shuffles = 2.0 * _upper_tail(abs(scores[0] + scores[2]) / np.std(sums))
    assert value == pytest.approx(from_shuffles, abs=1e-9)


def _upper_tail(z: float) -> float:
    return 1.0 - NormalDist().cdf(z)


def test_of_single_items_it_is_the_test_of_cochran_mantel_and_haenszel() -> None:
    # statsmodels 0.15.0 StratifiedTable as reference library, on the admissions of P. J. Bickel,
    # E. A. Hammel and J. W. O'Connell (1975) Science 187:398-404: chi-square without correction
    # 1.524607, p 0.216924 (COMPUTED)
    lines = ADMISSIONS.read_text(encoding="utf-8").splitlines()[2:]
    counts = np.array([[int(cell) for cell in line.split(",")[1:]] for line in lines])
    # men admitted and rejected, women admitted and rejected; a stratum is a department
    numbers = counts.ravel()
    shares = np.repeat(np.tile([1.0, 0.0, 1.0, 0.0], len(counts)), numbers)
    treated = np.repeat(np.tile([1.0, 1.0, 0.0, 0.0], len(counts)), numbers)
    strata = np.repeat(np.repeat(np.arange(len(counts)), 4), numbers)
    value = permutation_value_by_moments(
        shares, weights=np.ones(len(shares)), treated=treated, strata=strata
    )
    reference = StratifiedTable([row.reshape(2, 2) for row in counts]).test_null_odds()
    assert value == pytest.approx(reference.pvalue, abs=1e-9)
    assert value == pytest.approx(0.216924, abs=1e-6)


@pytest.mark.parametrize("shift", [0.0, 0.04, 0.08])
def test_agrees_with_shuffling(shift: float) -> None:
    rng = np.random.default_rng(23)
    strata = rng.integers(0, 12, 240)
    treated = (rng.random(240) < 0.3 + 0.03 * strata).astype(float)
    shares = np.clip(rng.normal(0.5 + 0.02 * strata + shift * treated, 0.15), 0.0, 1.0)
    data = {"weights": rng.uniform(3.0, 8.0, 240), "treated": treated, "strata": strata}
    quick = permutation_value_by_moments(shares, **data)
    slow = permutation_value(shares, rng=np.random.default_rng(1), times=1999, **data)
    assert quick is not None and slow is not None
    assert quick == pytest.approx(slow, abs=0.04)


def test_strata_of_one_side_say_nothing() -> None:
    value = permutation_value_by_moments(
        np.array([0.1, 0.9]),
        weights=np.ones(2),
        treated=np.array([1.0, 0.0]),
        strata=np.array([0, 1]),
    )
    assert value is None


def test_clusters_that_are_all_alike_do_as_much_every_time() -> None:
    value = permutation_value_by_moments(
        np.full(6, 0.4),
        weights=np.ones(6),
        treated=np.array([1.0, 0.0, 1.0, 0.0, 1.0, 0.0]),
        strata=np.zeros(6, dtype=int),
    )
    assert value == 1.0


def test_false_finds_are_as_rare_as_they_should_be() -> None:
    rng = np.random.default_rng(7)
    found = 0
    for _ in range(600):
        strata = rng.integers(0, 8, 120)
        treated = (rng.random(120) < 0.2 + 0.08 * strata).astype(float)
        shares = rng.beta(4.0, 4.0, 120)
        value = permutation_value_by_moments(
            shares, weights=rng.uniform(2.0, 8.0, 120), treated=treated, strata=strata
        )
        found += value is not None and value < 0.05
    assert 0.03 < found / 600 < 0.07
