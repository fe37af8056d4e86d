"""Holm's adjustment beside a reference library."""

import numpy as np
import pytest
from statsmodels.stats.multitest import multipletests

from app.stats.holm_adjustments import holm_adjusted


@pytest.mark.parametrize("count", [1, 2, 5, 12])
def test_agrees_with_the_reference_library(count: int) -> None:
    values = np.random.default_rng(count).random(count) ** 3
    theirs = multipletests(values, method="holm")[1]
    assert holm_adjusted(values.tolist()) == pytest.approx(theirs, abs=1e-12)


def test_nothing_looked_at_is_nothing() -> None:
    assert holm_adjusted([]) == ()
