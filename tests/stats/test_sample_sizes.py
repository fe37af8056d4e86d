"""Clusters needed to see a difference: the exact power of the paired t test, and the formula."""

import math

import pytest
from statsmodels.stats.power import TTestPower

from app.stats.sample_sizes import clusters_needed, pair_variance

CASES = [
    (0.60, 0.75, 12, 0.05),
    (0.60, 0.75, 40, 0.15),
    (0.40, 0.60, 12, 0.05),
    (0.70, 0.80, 12, 0.15),
    (0.50, 0.60, 30, 0.12),
]


@pytest.mark.parametrize(("share", "other", "size", "correlation"), CASES)
def test_agrees_with_the_exact_power_of_the_paired_t_test(
    share: float, other: float, size: int, correlation: float
) -> None:
    # statsmodels 0.15.0 TTestPower (non-central t, COMPUTED here); the formula with two central
    # quantiles is within one cluster of it.
    sd = math.sqrt(pair_variance(share, other=other, size=size, correlation=correlation))
    exact = TTestPower().solve_power(effect_size=abs(share - other) / sd, power=0.8, alpha=0.05)
    found = clusters_needed(share, other=other, size=size, correlation=correlation)
    assert found - 1.5 <= exact <= found + 1.0


def test_a_large_difference_still_takes_two_of_each() -> None:
    assert clusters_needed(0.0, other=1.0, size=100, correlation=0.0) == 2


def test_many_small_clusters_take_fewer_items_than_few_large_ones() -> None:
    small = clusters_needed(0.6, other=0.75, size=12, correlation=0.1) * 12
    large = clusters_needed(0.6, other=0.75, size=60, correlation=0.1) * 60
    assert small < large / 2


def test_equal_shares_are_refused() -> None:
    with pytest.raises(ValueError, match="equal"):
        clusters_needed(0.5, other=0.5, size=30, correlation=0.1)
