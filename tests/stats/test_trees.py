"""The tree against brute force, and what must not change its answers."""

import itertools
from pathlib import Path

import numpy as np
import pytest
from scipy.special import gammaln
from scipy.stats import betabinom

from app.stats.beta_binomials import cluster_messages, concentration_of
from app.stats.beta_trees import (
    Clusters,
    Levels,
    OwnScatter,
    fit_beta_tree,
    mixed_group_messages,
)
from app.stats.share_grids import ShareGrid, beta_kernel
from app.stats.trees import climb, descend, message_up, plain_join

GRID = ShareGrid(bins=40)
SEEDS = Path(__file__).parent.parent / "data" / "crowder_seeds.csv"


def brute_force(bottom: np.ndarray, parents: list[int], kernel: tuple) -> tuple:
    """Sum over every combination of root, two parents and their children's bins."""
    upper, lower = kernel
    root = np.zeros(GRID.bins)
    top = bottom.max(axis=1, keepdims=True)
    data = np.exp(bottom - top)
    below = [data[c] @ lower.T for c in range(len(parents))]
    widths = np.exp(GRID.log_widths)
    for i in range(GRID.bins):
        product = widths[i]
        for parent in sorted(set(parents)):
            mine = [below[c] for c in range(len(parents)) if parents[c] == parent]
            product *= sum(
                upper[i, j] * np.prod([child[j] for child in mine]) for j in range(GRID.bins)
            )
        root[i] = product
    return root / root.sum(), np.log(root.sum()) + float(top.sum())


def test_two_parents_with_two_children_each_equal_brute_force() -> None:
    sizes = np.array([12.0, 30.0, 8.0, 40.0])
    successes = np.array([3.0, 20.0, 8.0, 11.0])
    bottom = cluster_messages(successes, sizes=sizes, concentration=7.3, grid=GRID)
    kernels = (beta_kernel(GRID, concentration=15.0), beta_kernel(GRID, concentration=5.0))
    parents = [0, 0, 1, 1]
    joins = [plain_join(np.array(parents), count=2), plain_join(np.zeros(2, dtype=int), count=1)]
    climbed = climb(bottom, joins=joins, kernels=kernels)
    posteriors = descend(climbed, joins=joins, kernels=kernels, log_prior=GRID.log_widths)
    root, log_marginal = brute_force(bottom, parents, (kernels[1], kernels[0]))
    assert posteriors[-1][0] == pytest.approx(root, abs=1e-12)
    assert climbed.log_marginal(GRID.log_widths) == pytest.approx(log_marginal, abs=1e-10)


def test_a_child_equals_brute_force() -> None:
    bottom = cluster_messages(
        np.array([3.0, 20.0]), sizes=np.array([12.0, 30.0]), concentration=7.3, grid=GRID
    )
    kernel = beta_kernel(GRID, concentration=6.0)
    joins = [plain_join(np.zeros(2, dtype=int), count=1)]
    climbed = climb(bottom, joins=joins, kernels=[kernel])
    children = descend(climbed, joins=joins, kernels=[kernel], log_prior=GRID.log_widths)[0]
    joint = np.zeros(GRID.bins)
    data = np.exp(bottom)
    for i, j in itertools.product(range(GRID.bins), repeat=2):
        other = float((kernel[i] * data[1]).sum())
        joint[j] += np.exp(GRID.log_widths[i]) * kernel[i, j] * data[0, j] * other
    assert children[0] == pytest.approx(joint / joint.sum(), abs=1e-12)


def test_cluster_messages_equal_the_reference_beta_binomial() -> None:
    # scipy.stats.betabinom as reference library; the coefficient is added back
    grid = ShareGrid()
    successes, sizes = np.array([0.0, 4.0, 20.0, 300.0]), np.array([4.0, 4.0, 30.0, 300.0])
    got = cluster_messages(successes, sizes=sizes, concentration=7.3, grid=grid)
    a, b = 7.3 * grid.middles, 7.3 * (1.0 - grid.middles)
    for row, r, n in zip(got, successes, sizes, strict=True):
        reference = betabinom.logpmf(r, n, a, b)
        assert row - row[0] == pytest.approx(reference - reference[0], abs=1e-9)


def test_settled_clusters_by_the_grid_equal_the_closed_form() -> None:
    # the kernel on a fine grid against the exact rising factorials: 6e-5 within e^-2 of the top,
    # 3e-4 within e^-9 also where none or all succeed
    grid = ShareGrid(bins=400)
    successes, sizes = np.array([20.0, 15.0, 26.0, 3.0, 0.0, 30.0]), np.full(6, 30.0)
    exact = cluster_messages(successes, sizes=sizes, concentration=7.3, grid=grid)
    logs = np.outer(successes, np.log(grid.middles))
    logs += np.outer(sizes - successes, np.log1p(-grid.middles))
    gaps = np.abs(message_up(logs, kernel=beta_kernel(grid, concentration=7.3)) - exact)
    below = exact.max(axis=1, keepdims=True) - exact
    assert gaps[:3][below[:3] < 2.0].max() < 6e-5
    assert gaps[below < 9.0].max() < 3e-4


def test_the_kernel_keeps_its_upper_tail() -> None:
    # a difference of the CDF alone loses the mass near 1 under a low share and gives log 0
    kernel = beta_kernel(ShareGrid(), concentration=11.5)
    assert kernel.sum(axis=1) == pytest.approx(1.0, abs=1e-12)
    mirrored = kernel[::-1, ::-1]
    assert np.log(kernel) == pytest.approx(np.log(mirrored), abs=1e-6)


def _house(seed: int) -> tuple[Clusters, Levels]:
    rng = np.random.default_rng(seed)
    groups = rng.integers(0, 6, 60)
    sizes = rng.integers(4, 60, 60).astype(float)
    successes = rng.binomial(sizes.astype(int), rng.beta(6, 4, 60)).astype(float)
    levels = Levels(groups=6, parents=(np.array([0, 0, 1, 1, 2, 2]), np.zeros(3, dtype=int)))
    return Clusters(successes=successes, sizes=sizes, groups=groups), levels


def test_the_order_of_clusters_does_not_matter() -> None:
    clusters, levels = _house(3)
    mixed = np.random.default_rng(1).permutation(60)
    other = Clusters(
        successes=clusters.successes[mixed],
        sizes=clusters.sizes[mixed],
        groups=clusters.groups[mixed],
    )
    one, two = (
        fit_beta_tree(data, levels=levels, centres=(7.3, 15, 5)) for data in (clusters, other)
    )
    assert one.posteriors[0] == pytest.approx(two.posteriors[0], abs=1e-9)


def test_the_numbering_of_groups_does_not_matter() -> None:
    clusters, levels = _house(4)
    renamed = np.array([5, 4, 3, 2, 1, 0])
    other = Clusters(
        successes=clusters.successes, sizes=clusters.sizes, groups=renamed[clusters.groups]
    )
    mirrored = Levels(groups=6, parents=(np.array([2, 2, 1, 1, 0, 0]), np.zeros(3, dtype=int)))
    one = fit_beta_tree(clusters, levels=levels, centres=(7.3, 15, 5))
    two = fit_beta_tree(other, levels=mirrored, centres=(7.3, 15, 5))
    assert one.posteriors[0] == pytest.approx(two.posteriors[0][renamed], abs=1e-9)


def group_messages(
    data: Clusters, *, groups: int, concentration: float, grid: ShareGrid
) -> np.ndarray:
    """The groups' log-likelihoods at one correlation, nothing of it left open."""
    known = OwnScatter(correlation=1.0 / (concentration + 1.0), logit_sd=0.0)
    return mixed_group_messages(data, groups=groups, scatter=known, nodes=1, grid=grid)


def test_data_in_two_halves_send_the_same_message() -> None:
    clusters, _ = _house(5)
    halves = [
        Clusters(
            successes=clusters.successes[part],
            sizes=clusters.sizes[part],
            groups=clusters.groups[part],
        )
        for part in (slice(0, 30), slice(30, 60))
    ]
    whole = group_messages(clusters, groups=6, concentration=7.3, grid=GRID)
    parts = [group_messages(half, groups=6, concentration=7.3, grid=GRID) for half in halves]
    assert whole == pytest.approx(sum(parts), abs=1e-9)


def test_nothing_known_gives_the_prior_back() -> None:
    empty = Clusters(successes=np.zeros(0), sizes=np.zeros(0), groups=np.zeros(0, dtype=int))
    fitted = fit_beta_tree(empty, levels=Levels(groups=1), centres=(7.3,))
    assert fitted.posteriors[0][0] == pytest.approx(np.exp(fitted.grid.log_widths), abs=1e-12)


def test_a_group_without_data_holds_what_its_parent_predicts() -> None:
    clusters, _ = _house(6)
    wider = Levels(groups=7, parents=(np.array([0, 0, 1, 1, 2, 2, 2]), np.zeros(3, dtype=int)))
    fitted = fit_beta_tree(clusters, levels=wider, centres=(7.3, 15, 5))
    parent = fitted.posteriors[1][2] @ fitted.grid.middles
    untried = fitted.posteriors[0][6]
    assert untried @ fitted.grid.middles == pytest.approx(parent, abs=0.01)
    low, high = fitted.grid.quantiles(untried[None], (0.025, 0.975))[0]
    own_low, own_high = fitted.grid.quantiles(fitted.posteriors[0][4][None], (0.025, 0.975))[0]
    assert high - low > own_high - own_low


def test_concentration_and_correlation_are_each_other_turned_round() -> None:
    assert concentration_of(0.12) == pytest.approx(7.3333, abs=1e-4)


def test_beta_binomial_likelihood_of_the_seeds_plates() -> None:
    # Crowder (1978) Applied Statistics 27:34-37, Table 3: 21 plates. COMPUTED maximum likelihood,
    # intercept only: mean 0.493572, rho 0.081572, log-likelihood -64.51628 (tolerance 1e-3, 1e-4)
    successes = [10, 23, 23, 26, 17, 5, 53, 55, 32, 46, 10, 8, 10, 8, 23, 0, 3, 22, 15, 32, 3]
    sizes = [39, 62, 81, 51, 39, 6, 74, 72, 51, 79, 13, 16, 30, 28, 45, 4, 12, 41, 30, 51, 7]
    grid = ShareGrid(bins=2000)
    r, n = np.array(successes, dtype=float), np.array(sizes, dtype=float)
    binomials = betabinom.logpmf(r, n, 1.0, 1.0) + np.log(n + 1.0)  # uniform: pmf is 1 / (n + 1)
    assert binomials == pytest.approx(0.0, abs=1e-9)
    k = concentration_of(0.081572)
    surface = cluster_messages(r, sizes=n, concentration=k, grid=grid).sum(axis=0)
    coefficients = (gammaln(n + 1) - gammaln(r + 1) - gammaln(n - r + 1)).sum()
    assert surface.max() + coefficients == pytest.approx(-64.51628, abs=1e-4)
    assert grid.middles[surface.argmax()] == pytest.approx(0.493572, abs=1e-3)
    for other in (0.07, 0.095):
        away = cluster_messages(r, sizes=n, concentration=concentration_of(other), grid=grid)
        assert away.sum(axis=0).max() < surface.max()


def test_beta_binomial_regression_of_the_seeds_plates() -> None:
    # The same plates by seed and root extract, which makes four groups with shares of their own
    # and one correlation. COMPUTED maximum likelihood (VGAM, glmmTMB and own code agree):
    # coefficients -0.54195, 0.09739, 1.32007, -0.79792, rho 0.012361, log-likelihood -53.76676
    rows = np.genfromtxt(SEEDS, delimiter=",", skip_header=3, names=True, encoding="utf-8")
    r, n, seed, extract = (rows[name] for name in ("germinated", "n", "x1", "x2"))
    data = Clusters(successes=r, sizes=n, groups=(seed + 2 * extract).astype(int))
    grid = ShareGrid(bins=2000)
    coefficients = (gammaln(n + 1) - gammaln(r + 1) - gammaln(n - r + 1)).sum()

    def fitted(rho: float) -> tuple[np.ndarray, float]:
        surface = group_messages(data, groups=4, concentration=concentration_of(rho), grid=grid)
        return grid.middles[surface.argmax(axis=1)], surface.max(axis=1).sum() + coefficients

    shares, top = fitted(0.012361)
    assert top == pytest.approx(-53.76676, abs=1e-4)
    none, of_seed, of_extract, both = np.log(shares / (1.0 - shares))
    assert [none, of_seed - none, of_extract - none] == pytest.approx(
        [-0.54195, 0.09739, 1.32007], abs=5e-3
    )
    assert both - of_seed - of_extract + none == pytest.approx(-0.79792, abs=5e-3)
    assert max(fitted(0.011)[1], fitted(0.0138)[1]) < top
