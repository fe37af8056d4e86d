"""Shares of groups that lean on their parents: a tree of beta scatters fitted to clusters.

Each child's share is Beta(k x, k (1 - x)) round its parent's share x, clusters are beta-binomial
round their lowest group, and the root is uniform. The concentrations k, one per level, are set
at the mode of their marginal likelihood times a weak prior.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from app.stats.beta_binomials import cluster_messages
from app.stats.share_grids import Floats, ShareGrid, beta_kernel
from app.stats.trees import Climb, Ints, Join, climb, descend, message_up, plain_join

CANDIDATES: Final = np.geomspace(1.0, 1e4, 57)
PRIOR_LOG_SD: Final = 1.0
_STEPS: Final = (8, 4, 2, 1)


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
class FittedTree:
    """The tree after fitting: concentrations from the clusters up, and what climbed.

    `concentrations[0]` is of clusters round their group, the next of groups round their parent.
    """

    grid: ShareGrid
    levels: Levels
    concentrations: tuple[float, ...]
    climbed: Climb
    log_marginal: float
    posteriors: tuple[Floats, ...] = field(repr=False)

    @property
    def correlation(self) -> float:
        """The correlation of two items of one cluster, 1 / (k + 1)."""
        return 1.0 / (self.concentrations[0] + 1.0)


def fit_beta_tree(
    clusters: Clusters,
    levels: Levels,
    *,
    centres: Sequence[float],
    grid: ShareGrid | None = None,
) -> FittedTree:
    """Return the fitted tree; `centres` are the prior's medians of k, clusters first.

    A search along one coordinate at a time over 57 candidates from 1 to 10,000; the weak prior
    is log k ~ N(log centre, 1). Empty data give the centres back.
    """
    chosen_grid = grid or ShareGrid()
    search = _Search(clusters=clusters, levels=levels, centres=tuple(centres), grid=chosen_grid)
    places = search.best()
    concentrations = tuple(float(CANDIDATES[place]) for place in places)
    return _assemble(clusters, levels, concentrations, chosen_grid)


def tree_at(
    clusters: Clusters, levels: Levels, *, concentrations: Sequence[float], grid: ShareGrid
) -> FittedTree:
    """Return the tree with concentrations that are already known, clusters first."""
    return _assemble(clusters, levels, tuple(concentrations), grid)


def group_messages(
    clusters: Clusters, *, groups: int, concentration: float, grid: ShareGrid
) -> Floats:
    """Return the clusters' joint log-likelihood of each lowest group's share, (groups, bins)."""
    settled = cluster_messages(
        clusters.successes, clusters.sizes, concentration=concentration, grid=grid
    )
    total = plain_join(clusters.groups, count=groups).gather(settled)
    if clusters.open_logs is not None and clusters.open_groups is not None:
        unsettled = message_up(clusters.open_logs, beta_kernel(grid, concentration))
        total = total + plain_join(clusters.open_groups, count=groups).gather(unsettled)
    return total


def _assemble(
    clusters: Clusters, levels: Levels, concentrations: tuple[float, ...], grid: ShareGrid
) -> FittedTree:
    joins = levels.joins()
    kernels = [beta_kernel(grid, k) for k in concentrations[1:]]
    bottom = group_messages(
        clusters, groups=levels.groups, concentration=concentrations[0], grid=grid
    )
    climbed = climb(bottom, joins, kernels)
    return FittedTree(
        grid=grid,
        levels=levels,
        concentrations=concentrations,
        climbed=climbed,
        log_marginal=climbed.log_marginal(grid.log_widths),
        posteriors=descend(climbed, joins, kernels, log_prior=grid.log_widths),
    )


class _Search:
    """A coordinate search for the concentrations; group messages are kept per candidate."""

    def __init__(
        self, *, clusters: Clusters, levels: Levels, centres: tuple[float, ...], grid: ShareGrid
    ) -> None:
        self._clusters = clusters
        self._levels = levels
        self._joins = levels.joins()
        self._log_centres = np.log(centres)
        self._grid = grid
        self._bottoms: dict[int, Floats] = {}
        self._scores: dict[tuple[int, ...], float] = {}

    def best(self) -> tuple[int, ...]:
        """Return the candidates' places at the mode, clusters first."""
        logs = np.log(CANDIDATES)
        places = [int(np.abs(logs - centre).argmin()) for centre in self._log_centres]
        for step in _STEPS:
            self._walk(places, step)
        return tuple(places)

    def _walk(self, places: list[int], step: int) -> None:
        moved = True
        while moved:
            moved = False
            for level in range(len(places)):
                moved = self._step(places, level, step) or moved

    def _step(self, places: list[int], level: int, step: int) -> bool:
        here = self._score(tuple(places))
        for change in (step, -step):
            tried = places.copy()
            tried[level] = min(max(tried[level] + change, 0), len(CANDIDATES) - 1)
            if self._score(tuple(tried)) > here + 1e-9:
                places[:] = tried
                return True
        return False

    def _score(self, places: tuple[int, ...]) -> float:
        if places not in self._scores:
            values = CANDIDATES[list(places)]
            kernels = [beta_kernel(self._grid, float(k)) for k in values[1:]]
            climbed = climb(self._bottom(places[0]), self._joins, kernels)
            prior = -0.5 * float((((np.log(values) - self._log_centres) / PRIOR_LOG_SD) ** 2).sum())
            self._scores[places] = climbed.log_marginal(self._grid.log_widths) + prior
        return self._scores[places]

    def _bottom(self, place: int) -> Floats:
        if place not in self._bottoms:
            self._bottoms[place] = group_messages(
                self._clusters,
                groups=self._levels.groups,
                concentration=float(CANDIDATES[place]),
                grid=self._grid,
            )
        return self._bottoms[place]
