"""A group's share and correlation together.

The example of ten batches (233 of 325 rooted) and its numbers were computed in a study made for
this program with another implementation of the same formulas; no published example was found.
"""

import numpy as np
import pytest

from app.stats.beta_trees import Clusters, OwnScatter
from app.stats.group_posteriors import lone_group_posteriors
from app.stats.joint_shares import joint_shares
from app.stats.share_grids import ShareGrid
from tests.stats.ten_batches import ROOTED, SCATTER, STUCK, clusters_of

GRID = ShareGrid(bins=100)


def test_the_share_of_ten_batches() -> None:
    found = joint_shares(clusters_of(ROOTED, STUCK), scatter=SCATTER, grid=GRID)
    middle, low, high = found.quantiles((0.5, 0.05, 0.95))
    assert (middle, low, high) == pytest.approx((0.693, 0.611, 0.763), abs=0.001)
    assert found.masses.sum() == pytest.approx(1.0)


def test_the_share_alone_is_that_of_the_group_by_itself() -> None:
    clusters = clusters_of(ROOTED, STUCK)
    alone = lone_group_posteriors(
        clusters, groups=1, correlation=SCATTER.correlation, logit_sd=SCATTER.logit_sd, grid=GRID
    )
    found = joint_shares(clusters, scatter=SCATTER, grid=GRID)
    levels = (0.05, 0.5, 0.95)
    assert found.quantiles(levels) == pytest.approx(GRID.quantiles(alone, levels)[0], abs=0.002)


@pytest.mark.parametrize(
    ("rooted", "stuck", "middle", "low", "high"),
    [
        ([], [], 0.50, 0.025, 0.975),
        ([0], [4], 0.16, 0.01, 0.64),
        ([4], [4], 0.84, 0.36, 0.99),
        ([0], [300], 0.04, 0.00, 0.32),
        ([300], [300], 0.96, 0.68, 1.00),
        ([20], [30], 0.63, 0.26, 0.89),
        ([200], [300], 0.63, 0.27, 0.88),
        ([20] * 10, [30] * 10, 0.66, 0.59, 0.73),
    ],
)
def test_few_batches_or_none(
    rooted: list[int], stuck: list[int], middle: float, low: float, high: float
) -> None:
    # The same study; the correlation logit-normal round 0.12 with sd 1.
    scatter = OwnScatter(correlation=0.12, logit_sd=1.0)
    found = joint_shares(clusters_of(rooted, stuck), scatter=scatter, grid=GRID)
    assert found.quantiles((0.5, 0.025, 0.975)) == pytest.approx((middle, low, high), abs=0.035)


def test_a_prior_is_leaned_on() -> None:
    prior = np.log(np.where(GRID.middles < 0.3, 1.0, 1e-9))
    found = joint_shares(
        Clusters(successes=np.zeros(0), sizes=np.zeros(0), groups=np.zeros(0, dtype=np.int64)),
        scatter=SCATTER,
        log_prior=prior,
        grid=GRID,
    )
    assert found.quantiles((0.99,))[0] < 0.32
    assert found.variance == pytest.approx(
        found.share_masses @ (GRID.middles - found.mean) ** 2, rel=1e-6
    )
