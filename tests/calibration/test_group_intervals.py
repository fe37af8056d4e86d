"""Many groups at once equal one group at a time, and the reference library."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint

from app.stats.clusters import effective_size
from app.stats.intervals import wilson_interval
from tests.calibration.group_intervals import effective_intervals


def _batches(seed: int, *, groups: int, batches: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    sizes = rng.integers(1, 300, batches)
    return (
        rng.binomial(sizes, 0.6).astype(float),
        sizes.astype(float),
        rng.integers(0, groups, batches),
    )


def test_agrees_with_the_reference_library() -> None:
    # statsmodels 0.15.0 proportion_confint(method='wilson') takes real counts: equal to 1e-10
    rooted, sizes, groups = _batches(4, groups=40, batches=1_000)
    found = effective_intervals(rooted, sizes=sizes, groups=groups, correlation=0.12)
    for group in range(40):
        mine = groups == group
        weights = sizes[mine] / (1.0 + (sizes[mine] - 1.0) * 0.12)
        good = float((weights * rooted[mine] / sizes[mine]).sum())
        low, high = proportion_confint(good, float(weights.sum()), method="wilson")
        assert (found.low[group], found.high[group]) == pytest.approx((low, high), abs=1e-10)


@given(
    rooted=st.lists(st.integers(0, 40), min_size=1, max_size=6),
    correlation=st.sampled_from([0.0, 0.02, 0.12, 0.5, 1.0]),
)
def test_one_group_equals_the_plain_functions(rooted: list[int], correlation: float) -> None:
    sizes = np.full(len(rooted), 40.0)
    found = effective_intervals(
        np.array(rooted, dtype=float),
        sizes=sizes,
        groups=np.zeros(len(rooted), dtype=int),
        correlation=correlation,
    )
    worth = effective_size(40.0, correlation=correlation)
    total = worth * len(rooted)
    plain = wilson_interval(min(worth * sum(rooted) / 40.0, total), size=total)
    assert plain is not None
    assert (found.low[0], found.high[0]) == pytest.approx((plain.low, plain.high), abs=1e-9)
    assert found.effective[0] == pytest.approx(total)


def test_an_empty_group_has_no_limits() -> None:
    found = effective_intervals(
        np.array([3.0]), sizes=np.array([9.0]), groups=np.array([0]), correlation=0.12, count=2
    )
    assert np.isnan([found.low[1], found.high[1], found.shares[1]]).all()
    assert found.effective[1] == 0.0
    assert found.shares[0] == pytest.approx(1 / 3)
