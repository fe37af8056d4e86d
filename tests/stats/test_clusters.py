"""Effective sizes: the worked example, the limits, and that they keep the promised coverage."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.stats.clusters import design_effect, effective_size
from app.stats.intervals import Interval, wilson_interval

# Ten clusters of an invented example; the limits were COMPUTED apart from this code.
SUCCESSES = (22, 31, 14, 40, 9, 27, 18, 35, 12, 25)
SIZES = (30, 40, 20, 50, 20, 40, 30, 45, 20, 30)
CORRELATION = 0.12


def on_effective_sizes(successes: list[int], sizes: list[int], correlation: float) -> Interval:
    weights = [effective_size(size, correlation=correlation) for size in sizes]
    weighted = sum(
        weight * count / size for weight, count, size in zip(weights, successes, sizes, strict=True)
    )
    interval = wilson_interval(min(weighted, sum(weights)), size=sum(weights))
    assert interval is not None
    return interval


def on_pooled_counts(successes: list[int], sizes: list[int]) -> Interval:
    interval = wilson_interval(sum(successes), size=sum(sizes))
    assert interval is not None
    return interval


def test_the_worked_example() -> None:
    worth = sum(effective_size(size, correlation=CORRELATION) for size in SIZES)
    ours = on_effective_sizes(list(SUCCESSES), list(SIZES), CORRELATION)
    pooled = on_pooled_counts(list(SUCCESSES), list(SIZES))
    assert worth == pytest.approx(66.90, abs=5e-3)
    assert (ours.low, ours.high) == pytest.approx((0.581, 0.796), abs=5e-4)
    assert (pooled.low, pooled.high) == pytest.approx((0.666, 0.763), abs=5e-4)


@pytest.mark.parametrize(
    ("size", "at_005", "at_012"),
    # COMPUTED by hand from n / (1 + (n - 1) rho), to one decimal.
    [(4, 3.5, 2.9), (10, 6.9, 4.8), (30, 12.2, 6.7), (100, 16.8, 7.8), (300, 18.8, 8.1)],
)
def test_what_a_cluster_is_worth(size: int, at_005: float, at_012: float) -> None:
    assert effective_size(size, correlation=0.05) == pytest.approx(at_005, abs=0.05)
    assert effective_size(size, correlation=0.12) == pytest.approx(at_012, abs=0.05)


@given(size=st.floats(1.0, 1e6), correlation=st.floats(0.0, 1.0))
def test_it_lies_between_one_and_the_size(size: float, correlation: float) -> None:
    worth = effective_size(size, correlation=correlation)
    assert 1.0 - 1e-9 <= worth <= size + 1e-9
    assert design_effect(size, correlation=correlation) >= 1.0
    if correlation > 0.0:
        assert worth <= 1.0 / correlation + 1e-6


@given(size=st.floats(1.0, 1e6))
def test_the_two_ends_of_correlation(size: float) -> None:
    assert effective_size(size, correlation=0.0) == size
    assert effective_size(size, correlation=1.0) == pytest.approx(1.0)


@given(size=st.floats(1.0, 1e5), more=st.floats(1.0, 1e5), correlation=st.floats(0.001, 0.999))
def test_a_larger_cluster_is_worth_more(size: float, more: float, correlation: float) -> None:
    assert effective_size(size + more, correlation=correlation) > effective_size(
        size, correlation=correlation
    )


@pytest.mark.parametrize("size", [0.0, 0.5, -3.0, math.nan])
def test_it_refuses_a_cluster_without_items(size: float) -> None:
    with pytest.raises(ValueError, match="at least one item"):
        design_effect(size, correlation=0.1)


@pytest.mark.parametrize("correlation", [-0.01, 1.01, math.nan])
def test_it_refuses_an_impossible_correlation(correlation: float) -> None:
    with pytest.raises(ValueError, match="from 0 to 1"):
        effective_size(10.0, correlation=correlation)


def share_of_runs_that_cover(clusters: int, *, share: float, runs: int) -> tuple[float, float]:
    """Return how often the effective and the pooled interval hold the true share."""
    generator = np.random.default_rng(20260401)
    spread = 1.0 / CORRELATION - 1.0  # a + b of the beta that scatters clusters with this rho
    held = np.zeros(2)
    for _ in range(runs):
        sizes = np.clip(np.exp(generator.normal(np.log(30.0), 0.8, clusters)), 4, 300).astype(int)
        rates = generator.beta(spread * share, spread * (1.0 - share), clusters)
        counts = generator.binomial(sizes, rates)
        ours = on_effective_sizes(counts.tolist(), sizes.tolist(), CORRELATION)
        pooled = on_pooled_counts(counts.tolist(), sizes.tolist())
        held += [ours.low <= share <= ours.high, pooled.low <= share <= pooled.high]
    return float(held[0] / runs), float(held[1] / runs)


@pytest.mark.parametrize("share", [0.3, 0.6, 0.85])
@pytest.mark.parametrize("clusters", [1, 3, 10, 30])
def test_ninety_five_in_a_hundred_hold_the_truth(clusters: int, share: float) -> None:
    # 1,500 seeded runs: the standard error of a coverage near 95 % is 0.6 points. Pooled counts
    # hold the truth far less often, so swapping the two would fail both bounds.
    ours, pooled = share_of_runs_that_cover(clusters, share=share, runs=1_500)
    assert 0.92 <= ours <= 0.985
    assert pooled <= 0.80
