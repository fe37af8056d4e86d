"""Shares of groups that lean on their parents: a tree of beta scatters fitted to clusters.

Each child's share is Beta(k x, k (1 - x)) round its parent's share x, clusters are beta-binomial
round their lowest group, and the root is uniform. The concentrations k, one per level, are found
at the mode of their marginal likelihood times a weak prior, and the two lowest are averaged over.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import Final

import numpy as np
from scipy.sparse import csr_matrix
from scipy.special import expit, logit, ndtri

from app.stats.beta_binomials import cluster_messages, concentration_of
from app.stats.grid_searches import best_place
from app.stats.share_grids import Floats, ShareGrid, beta_kernel
from app.stats.trees import Ints, Join, climb, descend, message_up, plain_join

CANDIDATES: Final = np.geomspace(1.0, 1e4, 57)
PRIOR_LOG_SD: Final = 1.0
_STEPS: Final = (8, 4, 2, 1)
# Neighbours of the mode, in candidates: one step is a factor of 1.18.
_CLUSTER_OFFSETS: Final = (-6, -3, 0, 3, 6)
_SCATTER_NODES: Final = 7
_NEGLIGIBLE: Final = 1e-3
_NEGLIGIBLE_LOG: Final = 7.0
_GROUP_OFFSETS: Final = (-12, -6, 0, 6, 12)


@dataclass(frozen=True, kw_only=True)
class Clusters:
    """The data: settled clusters as counts, unsettled ones as log-likelihoods of their own share.

    `successes`, `sizes` and `groups` have one entry per settled cluster; `open_logs` is
    (clusters, bins) with `open_groups` beside it. Groups count from 0.
    """

    successes: Floats
    sizes: Floats
    groups: Ints
    open_logs: Floats | None = None
    open_groups: Ints | None = None


@dataclass(frozen=True, kw_only=True)
class Levels:
    """The tree above the clusters: the number of lowest groups and the parents of each level.

    `parents[0][g]` is the parent of lowest group g, and so on; the last level's parent is the
    root, 0. No parents at all means that the one lowest group is the root.
    """

    groups: int
    parents: tuple[Ints, ...] = ()

    def joins(self) -> tuple[Join, ...]:
        """Return the joins from the lowest groups up."""
        counts = [int(above.max(initial=0)) + 1 for above in self.parents]
        if counts:
            counts[-1] = 1
        sizes = [len(above) for above in self.parents[1:]] + [1] if self.parents else []
        return tuple(
            plain_join(parents, count=size)
            for parents, size in zip(self.parents, sizes, strict=True)
        )


@dataclass(frozen=True, kw_only=True)
class OwnScatter:
    """What is thought of a group's own correlation: logit-normal round `correlation` (0 to 1)."""

    correlation: float
    logit_sd: float

    def nodes(self, number: int) -> Floats:
        """Return correlations of equal weight that stand for the distribution."""
        levels = ndtri((np.arange(number) + 0.5) / number)
        return np.asarray(expit(logit(self.correlation) + self.logit_sd * levels))


@dataclass(frozen=True, kw_only=True)
class FittedTree:
    """The tree after fitting: concentrations at the mode from the clusters up, and posteriors.

    `concentrations[0]` is of clusters round their group, the next of groups round their parent.
    `posteriors[0]` are the lowest groups' bin masses, the last the root's; they are averaged over
    what the data leave open of the two lowest concentrations. `cluster_nodes` are the
    concentrations of clusters that this rests on, with their weights (summing to 1).
    """

    grid: ShareGrid
    levels: Levels
    concentrations: tuple[float, ...]
    cluster_nodes: tuple[tuple[float, float], ...]
    bottom: Floats = field(repr=False)
    posteriors: tuple[Floats, ...] = field(repr=False)

    @property
    def correlation(self) -> float:
        """The correlation of two items of one cluster, 1 / (k + 1), averaged over the nodes."""
        return sum(weight / (k + 1.0) for k, weight in self.cluster_nodes)


def fit_beta_tree(
    clusters: Clusters,
    *,
    levels: Levels,
    centres: Sequence[float],
    scatter: OwnScatter | None = None,
    near: Sequence[float] | None = None,
    grid: ShareGrid | None = None,
) -> FittedTree:
    """Return the fitted tree; `centres` are the prior's medians of k, clusters first.

    A search along one coordinate at a time over 57 candidates from 1 to 10,000; the weak prior
    is log k ~ N(log centre, 1). Empty data give the centres back. With `scatter` each
    lowest group learns its own correlation round a known one, and only the levels above are
    searched. `near` are concentrations found for much the
    same data, from which the search may begin with short steps.
    """
    search = _Search(
        clusters=clusters,
        levels=levels,
        centres=tuple(centres),
        scatter=scatter,
        near=tuple(near or ()),
        grid=grid or ShareGrid(),
    )
    return search.fitted()


def mixed_group_messages(
    clusters: Clusters, *, groups: int, scatter: OwnScatter, nodes: int, grid: ShareGrid
) -> Floats:
    """Return the groups' log-likelihoods with each group's own correlation left open.

    Averaged over `nodes` correlations of equal weight, for each group by itself, shape (groups,
    bins).
    """
    layers = group_messages_at(
        clusters, groups=groups, correlations=scatter.nodes(nodes), grid=grid
    )
    return np.asarray(np.logaddexp.reduce(layers, axis=0) - np.log(nodes))


def group_messages_at(
    clusters: Clusters, *, groups: int, correlations: Floats, grid: ShareGrid
) -> Floats:
    """Return the groups' log-likelihoods at each correlation, (correlations, groups, bins)."""
    bottom = _Bottom(clusters, groups=groups, grid=grid)
    return np.stack([bottom.at(concentration_of(float(rho))) for rho in correlations])


class _Bottom:
    """Clusters put together by equal counts once, so that each concentration costs little."""

    def __init__(self, clusters: Clusters, *, groups: int, grid: ShareGrid) -> None:
        counts = np.stack([clusters.successes, clusters.sizes])
        self._counts, place = np.unique(counts, axis=1, return_inverse=True)
        shape = (groups, self._counts.shape[1])
        ones = np.ones(len(clusters.groups))
        self._numbers = csr_matrix((ones, (clusters.groups, place.ravel())), shape=shape)
        self._clusters = clusters
        self._groups = groups
        self._grid = grid

    def at(self, concentration: float) -> Floats:
        """Return the groups' log-likelihoods at this scatter of clusters."""
        successes, sizes = self._counts
        messages = cluster_messages(
            successes, sizes=sizes, concentration=concentration, grid=self._grid
        )
        total = np.asarray(self._numbers @ messages)
        open_logs, open_groups = self._clusters.open_logs, self._clusters.open_groups
        if open_logs is not None and open_groups is not None and len(open_logs):
            unsettled = message_up(
                open_logs, kernel=beta_kernel(self._grid, concentration=concentration)
            )
            total = total + plain_join(open_groups, count=self._groups).gather(unsettled)
        return total


@dataclass(frozen=True, kw_only=True)
class _Point:
    """One set of concentrations: its log weight and the tree there."""

    concentrations: tuple[float, ...]
    log_weight: float
    bottom: Floats
    posteriors: tuple[Floats, ...]


class _Search:
    """A search for the concentrations; the clusters' messages are kept per candidate."""

    def __init__(
        self,
        *,
        clusters: Clusters,
        levels: Levels,
        centres: tuple[float, ...],
        scatter: OwnScatter | None,
        near: tuple[float, ...],
        grid: ShareGrid,
    ) -> None:
        self._bottom = _Bottom(clusters, groups=levels.groups, grid=grid)
        self._levels = levels
        self._joins = levels.joins()
        self._log_centres = np.log(centres)
        self._fixed = concentration_of(scatter.correlation) if scatter else None
        self._near = near
        self._grid = grid
        self._sums: dict[tuple[float, ...], Floats] = {}
        if scatter and self._fixed is not None:
            self._sums[(self._fixed,)] = mixed_group_messages(
                clusters, groups=levels.groups, scatter=scatter, nodes=_SCATTER_NODES, grid=grid
            )

    def fitted(self) -> FittedTree:
        """Return the tree at the mode, averaged over its neighbourhood."""
        places = self._best()
        weighed = [(self._weight(k), k) for k in self._neighbourhood(places)]
        top = max(weight for weight, _ in weighed)
        points = [self._point(k, weight) for weight, k in weighed if weight > top - _NEGLIGIBLE_LOG]
        logs = np.array([point.log_weight for point in points])
        weights = np.exp(logs - logs.max())
        weights /= weights.sum()
        mode = points[int(np.argmax(logs))]
        levels = range(len(mode.posteriors))
        mixed = tuple(
            sum(w * point.posteriors[level] for w, point in zip(weights, points, strict=True))
            for level in levels
        )
        return FittedTree(
            grid=self._grid,
            levels=self._levels,
            concentrations=mode.concentrations,
            cluster_nodes=_summed_by_cluster(points, weights),
            bottom=mode.bottom,
            posteriors=tuple(np.asarray(masses) for masses in mixed),
        )

    def _best(self) -> tuple[int, ...]:
        logs = np.log(CANDIDATES)
        begin = np.log(self._near) if self._near else self._log_centres
        start = [int(np.abs(logs - centre).argmin()) for centre in begin]
        sizes = [len(CANDIDATES)] * len(start)
        if self._fixed is not None:
            # The clusters' own scatter is known: its axis has no length.
            sizes[0], start[0] = 1, 0
        steps = _STEPS[2:] if self._near else _STEPS
        return best_place(self._score, start=start, sizes=sizes, steps=steps)

    def _neighbourhood(self, places: tuple[int, ...]) -> list[tuple[float, ...]]:
        around = _around(places[0], _CLUSTER_OFFSETS)
        clusters = around if self._fixed is None else [self._fixed]
        upper = [
            _around(place, _GROUP_OFFSETS if i == 0 else (0,)) for i, place in enumerate(places[1:])
        ]
        return list(product(clusters, *upper))

    def _point(self, concentrations: tuple[float, ...], log_weight: float) -> _Point:
        kernels = [beta_kernel(self._grid, concentration=k) for k in concentrations[1:]]
        bottom = self._sum(concentrations[:1])
        climbed = climb(bottom, joins=self._joins, kernels=kernels)
        return _Point(
            concentrations=concentrations,
            log_weight=log_weight,
            bottom=bottom,
            posteriors=descend(
                climbed, joins=self._joins, kernels=kernels, log_prior=self._grid.log_widths
            ),
        )

    def _score(self, places: tuple[int, ...]) -> float:
        cluster = float(CANDIDATES[places[0]]) if self._fixed is None else self._fixed
        return self._weight((cluster, *(float(CANDIDATES[place]) for place in places[1:])))

    def _weight(self, values: tuple[float, ...]) -> float:
        root = self._sum(values)[0] + self._grid.log_widths
        return float(np.logaddexp.reduce(root)) + self._log_prior(values)

    def _sum(self, values: tuple[float, ...]) -> Floats:
        """Return what has come up to the level of these concentrations; each is worked out once."""
        if values not in self._sums:
            if len(values) == 1:
                summed = self._bottom.at(values[0])
            else:
                kernel = beta_kernel(self._grid, concentration=values[-1])
                below = message_up(self._sum(values[:-1]), kernel=kernel)
                summed = self._joins[len(values) - 2].gather(below)
            self._sums[values] = summed
        return self._sums[values]

    def _log_prior(self, concentrations: tuple[float, ...]) -> float:
        gaps = (np.log(concentrations) - self._log_centres) / PRIOR_LOG_SD
        open_ones = gaps if self._fixed is None else gaps[1:]
        return -0.5 * float((open_ones**2).sum())


def _around(place: int, offsets: Sequence[int]) -> list[float]:
    places = {min(max(place + offset, 0), len(CANDIDATES) - 1) for offset in offsets}
    return [float(CANDIDATES[found]) for found in sorted(places)]


def _summed_by_cluster(
    points: Sequence[_Point], weights: Floats
) -> tuple[tuple[float, float], ...]:
    sums: dict[float, float] = {}
    for point, weight in zip(points, weights, strict=True):
        k = point.concentrations[0]
        sums[k] = sums.get(k, 0.0) + float(weight)
    kept = {k: weight for k, weight in sums.items() if weight > _NEGLIGIBLE}
    total = sum(kept.values())
    return tuple((k, kept[k] / total) for k in sorted(kept))
