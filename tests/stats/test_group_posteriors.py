"""One group by itself: the edge cases, and a worked example."""

import numpy as np
import pytest

from app.stats.beta_trees import Clusters
from app.stats.group_posteriors import LEARNED_LOGIT_SD, lone_group_posteriors
from app.stats.share_grids import ShareGrid

# COMPUTED once by an independent prototype of the same model (correlation logit-normal round 0.12
# with sd 1, uniform share): median, 2.5 % and 97.5 %, in percent; printed without decimals.
EDGES = [
    ([], [], (50.0, 2.5, 97.5)),
    ([0], [4], (16, 1, 64)),
    ([4], [4], (84, 36, 99)),
    ([0], [300], (4, 0, 32)),
    ([300], [300], (96, 68, 100)),
    ([20], [30], (63, 26, 89)),
    ([200], [300], (63, 27, 88)),
    ([20] * 10, [30] * 10, (66, 59, 73)),
]


def _one_group(successes: list[int], sizes: list[int]) -> Clusters:
    return Clusters(
        successes=np.array(successes, dtype=float),
        sizes=np.array(sizes, dtype=float),
        groups=np.zeros(len(sizes), dtype=int),
    )


@pytest.mark.parametrize(("successes", "sizes", "expected"), EDGES)
def test_edge_cases(
    successes: list[int], sizes: list[int], expected: tuple[float, float, float]
) -> None:
    grid = ShareGrid(bins=400)
    masses = lone_group_posteriors(_one_group(successes, sizes), groups=1, grid=grid)
    middle, low, high = 100.0 * grid.quantiles(masses, (0.5, 0.025, 0.975))[0]
    assert (middle, low, high) == pytest.approx(expected, abs=1.6)
    assert 0.0 < low < high < 100.0  # never certain


def test_worked_example_of_ten_batches() -> None:
    # COMPUTED: ten batches, 233 of 325; correlation logit-normal (0.12, 0.7), 100 bins: 69.3 %,
    # 90 % interval 61.1 to 76.3
    data = _one_group(
        [22, 31, 14, 40, 9, 27, 18, 35, 12, 25], [30, 40, 20, 50, 20, 40, 30, 45, 20, 30]
    )
    grid = ShareGrid(bins=100)
    masses = lone_group_posteriors(data, groups=1, logit_sd=LEARNED_LOGIT_SD, grid=grid)
    low, middle, high = 100.0 * grid.quantiles(masses, (0.05, 0.5, 0.95))[0]
    assert (low, middle, high) == pytest.approx((61.1, 69.3, 76.3), abs=0.15)


def test_groups_side_by_side_are_as_if_alone() -> None:
    grid = ShareGrid()
    both = Clusters(
        successes=np.array([20.0, 3.0]), sizes=np.array([30.0, 9.0]), groups=np.array([0, 1])
    )
    rows = lone_group_posteriors(both, groups=2, grid=grid)
    for place, (r, n) in enumerate(((20, 30), (3, 9))):
        alone = lone_group_posteriors(_one_group([r], [n]), groups=1, grid=grid)
        assert rows[place] == pytest.approx(alone[0], abs=1e-12)
