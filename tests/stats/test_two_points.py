"""The two-point distribution: its mean and variance are the ones asked for."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.stats.two_points import two_points

SHARES = st.floats(min_value=0.02, max_value=0.98)


@given(mean=SHARES, part=st.floats(min_value=0.0, max_value=0.95))
def test_mean_and_variance_are_met_within_the_limits(mean: float, part: float) -> None:
    variance = part * mean * (1.0 - mean)
    low, high, mass = two_points(mean=mean, variance=variance)
    assert 0.0 <= low <= high <= 1.0
    found = low * (1.0 - mass) + high * mass
    assert found == pytest.approx(mean)
    spread = (low - found) ** 2 * (1.0 - mass) + (high - found) ** 2 * mass
    assert spread == pytest.approx(variance, abs=1e-9)


def test_a_share_without_spread_is_one_value() -> None:
    assert two_points(mean=1.0, variance=0.0)[:2] == (1.0, 1.0)
