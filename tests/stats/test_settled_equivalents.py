"""Open clusters as counts of settled ones: what must come back is what went in."""

import numpy as np
import pytest

from app.stats.beta_binomials import cluster_messages
from app.stats.settled_equivalents import settled_equivalents
from app.stats.share_grids import Floats, ShareGrid

GRID = ShareGrid()


def _binomial_logs(successes: float, size: float) -> Floats:
    p = GRID.middles
    return np.asarray(successes * np.log(p) + (size - successes) * np.log1p(-p))[None, :]


@pytest.mark.parametrize(("successes", "size"), [(0, 4), (4, 4), (20, 30), (57, 300), (3, 12)])
def test_a_settled_cluster_stands_for_itself(successes: int, size: int) -> None:
    found = settled_equivalents(_binomial_logs(successes, size), grid=GRID)
    assert found.sizes[0] == pytest.approx(size, rel=0.02)
    assert found.successes[0] == pytest.approx(successes, rel=0.02, abs=0.05)


def test_a_flat_likelihood_is_worth_nothing() -> None:
    found = settled_equivalents(np.zeros((1, GRID.bins)), grid=GRID)
    assert found.sizes[0] == pytest.approx(0.0, abs=0.01)
    assert found.successes[0] == pytest.approx(0.0, abs=0.01)


def test_waiting_items_count_for_less_than_known_ones() -> None:
    # 12 rooted, 4 failed, 8 waiting of which each roots with odds p/(1-p) times 1/2.
    p = GRID.middles
    logs = 12 * np.log(p) + 4 * np.log1p(-p) + 8 * np.log(p * 0.5 + (1.0 - p))
    found = settled_equivalents(logs[None, :], grid=GRID)
    assert 12.0 < found.sizes[0] < 24.0
    share = found.successes[0] / found.sizes[0]
    assert 12 / 24 < share < 12 / 16


def test_louis_information_agrees_near_the_mode() -> None:
    # T. A. Louis (1982), J. R. Statist. Soc. B 44:226-233 (from memory): the settled size is
    # n - m q (1 - q) / (p (1 - p)) with q the odds of a waiting one; both forms must be close.
    p = GRID.middles
    still = 0.3
    logs = 60 * np.log(p) + 30 * np.log1p(-p) + 15 * np.log(p * still + (1.0 - p))
    top = p[int(logs.argmax())]
    chance = top * still / (top * still + 1.0 - top)
    louis = 105 - 15 * chance * (1.0 - chance) / (top * (1.0 - top))
    found = settled_equivalents(logs[None, :], grid=GRID)
    assert found.sizes[0] == pytest.approx(louis, rel=0.05)


def test_a_batch_of_correlated_items_is_not_worth_more_than_its_scatter_allows() -> None:
    logs = cluster_messages(np.array([20.0]), sizes=np.array([30.0]), concentration=7.0, grid=GRID)
    assert settled_equivalents(logs, grid=GRID).sizes[0] < 10.0
