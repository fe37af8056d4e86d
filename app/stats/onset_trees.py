"""How long until onset, for groups that lean on their parents: a tree of normal scatters.

Each node holds the log median of the log-logistic onset curve. Children scatter normally round
their parent, clusters (each with its own speed) round their lowest group. The curve's scale and
the standard deviations are set at the mode of the marginal likelihood times weak priors.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

import numpy as np
from scipy.sparse import csr_matrix

from app.stats.grid_searches import best_place
from app.stats.histories import Histories
from app.stats.onset_curves import log_not_yet, log_within
from app.stats.share_grids import Floats
from app.stats.trees import (
    Climb,
    Ints,
    Join,
    cavity,
    climb,
    descend,
    message_up,
    plain_join,
)

LOG_MEDIANS: Final = np.linspace(np.log(4.0), np.log(250.0), 90)
# Starting values: assumptions without a source, to be shown as such until data have spoken.
START_SCALE: Final = 0.20
START_CLUSTER_SD: Final = 0.15
START_MEDIAN: Final = 32.0
_ROOT_SD: Final = 0.6
_SCALES: Final = np.geomspace(0.08, 0.6, 13)
_SDS: Final = np.geomspace(0.04, 1.2, 18)
_PRIOR_LOG_SD: Final = 0.5
_STEPS: Final = (4, 2, 1)


@lru_cache(maxsize=128)
def normal_kernel(sd: float) -> Floats:
    """Return K[i, j] = mass of a child at log median j round a parent at i; rows sum to 1."""
    gaps = LOG_MEDIANS[None, :] - LOG_MEDIANS[:, None]
    # The grid is coarse beside a small sd: add the bin's own spread, so that mass can move.
    step = LOG_MEDIANS[1] - LOG_MEDIANS[0]
    masses = np.exp(-0.5 * gaps**2 / (sd**2 + step**2 / 12.0))
    return np.asarray(np.maximum(masses / masses.sum(axis=1, keepdims=True), 1e-300))


@dataclass(frozen=True, kw_only=True)
class OnsetLevels:
    """Parents from the clusters up: `parents[0][cluster]` is its lowest group, and so on.

    `counts` holds the number of nodes above each join; the last is 1, the root.
    """

    parents: tuple[Ints, ...]
    counts: tuple[int, ...]

    def joins(self) -> tuple[Join, ...]:
        """Return the joins from the clusters up."""
        return tuple(
            plain_join(parents, count=count)
            for parents, count in zip(self.parents, self.counts, strict=True)
        )


@dataclass(frozen=True, kw_only=True)
class FittedOnsets:
    """The fitted tree: the curve's scale, one sd per join from the clusters up, and posteriors.

    `posteriors[0]` are the clusters' own log medians, `posteriors[1]` the lowest groups'.
    """

    scale: float
    sds: tuple[float, ...]
    levels: OnsetLevels
    climbed: Climb = field(repr=False)
    posteriors: tuple[Floats, ...] = field(repr=False)

    def without_own_data(self) -> Floats:
        """Return what each cluster's group predicts for it, its own data taken out."""
        groups = self.posteriors[1][self.levels.parents[0]]
        return np.asarray(
            cavity(groups, messages=self.climbed.messages[0]) @ normal_kernel(self.sds[0])
        )


def log_prior_of_root() -> Floats:
    """Return the root's log masses: a broad normal round log 32 days."""
    logs = -0.5 * ((LOG_MEDIANS - np.log(START_MEDIAN)) / _ROOT_SD) ** 2
    return np.asarray(logs - np.log(np.exp(logs).sum()))


def fit_onset_tree(
    histories: Histories,
    *,
    levels: OnsetLevels,
    shares: Floats,
    remaining: Floats,
    start_sds: Sequence[float],
    near: Sequence[float] | None = None,
) -> FittedOnsets:
    """Return the fitted tree.

    `shares[c]` is the expected share of cluster c (0 to 1), `remaining[c]` the probability that
    an item of it that never sets in is still there at the waiting age; both weigh the waiting
    items. `start_sds` are the priors' medians, clusters first. `near` are a scale and sds found
    for much the same data, from which the search may begin with short steps.
    """
    search = _Search(
        histories=histories,
        levels=levels,
        shares=shares,
        remaining=remaining,
        start_sds=tuple(start_sds),
        near=tuple(near or ()),
    )
    return search.fitted()


class OnsetLeaves:
    """The clusters' log-likelihoods of their own log median; intervals put together once."""

    def __init__(self, histories: Histories, *, shares: Floats, remaining: Floats) -> None:
        spans = np.stack([histories.start, histories.end])
        self._spans, place = np.unique(spans, axis=1, return_inverse=True)
        shape = (histories.count, self._spans.shape[1])
        self._seen = csr_matrix((histories.onsets, (histories.cluster, place.ravel())), shape=shape)
        self._wait = histories.waiting > 0
        self._waiting = histories.waiting[self._wait]
        self._age = histories.waiting_age[self._wait]
        self._share = shares[self._wait]
        self._left = remaining[self._wait]

    def at(self, scale: float) -> Floats:
        """Return sum_j r_j log dF_j + m log(p S_G(t) + (1 - p) S_H(t)), shape (clusters, 90)."""
        within = log_within(
            self._spans[0], ends=self._spans[1], log_medians=LOG_MEDIANS, scale=scale
        )
        rows = np.asarray(self._seen @ within)
        not_yet = np.exp(log_not_yet(self._age, log_medians=LOG_MEDIANS, scale=scale))
        stays = self._share[:, None] * not_yet + ((1.0 - self._share) * self._left)[:, None]
        rows[self._wait] += self._waiting[:, None] * np.log(np.maximum(stays, 1e-300))
        return rows


class _Search:
    """A coordinate search over the scale and the standard deviations."""

    def __init__(
        self,
        *,
        histories: Histories,
        levels: OnsetLevels,
        shares: Floats,
        remaining: Floats,
        start_sds: tuple[float, ...],
        near: tuple[float, ...],
    ) -> None:
        self._leaves = OnsetLeaves(histories, shares=shares, remaining=remaining)
        self._levels = levels
        self._joins = levels.joins()
        self._centres = np.log((START_SCALE, *start_sds))
        self._near = near
        self._grids = (_SCALES, *([_SDS] * len(start_sds)))
        self._sums: dict[tuple[float, ...], Floats] = {}

    def fitted(self) -> FittedOnsets:
        """Return the tree at the mode."""
        places = self._best()
        scale, *sds = (float(g[i]) for g, i in zip(self._grids, places, strict=True))
        kernels = [normal_kernel(sd) for sd in sds]
        climbed = climb(self._sum((scale,)), joins=self._joins, kernels=kernels)
        return FittedOnsets(
            scale=scale,
            sds=tuple(sds),
            levels=self._levels,
            climbed=climbed,
            posteriors=descend(
                climbed, joins=self._joins, kernels=kernels, log_prior=log_prior_of_root()
            ),
        )

    def _best(self) -> tuple[int, ...]:
        begin = np.log(self._near) if self._near else self._centres
        pairs = zip(self._grids, begin, strict=True)
        start = [int(np.abs(np.log(grid) - centre).argmin()) for grid, centre in pairs]
        sizes = [len(grid) for grid in self._grids]
        return best_place(
            self._score, start=start, sizes=sizes, steps=_STEPS[1:] if self._near else _STEPS
        )

    def _score(self, places: tuple[int, ...]) -> float:
        values = tuple(float(g[i]) for g, i in zip(self._grids, places, strict=True))
        prior = -0.5 * float((((np.log(values) - self._centres) / _PRIOR_LOG_SD) ** 2).sum())
        root = self._sum(values)[0] + log_prior_of_root()
        return float(np.logaddexp.reduce(root)) + prior

    def _sum(self, values: tuple[float, ...]) -> Floats:
        """Return what has come up to the level of the scale and sds; each is worked out once."""
        if values not in self._sums:
            if len(values) == 1:
                summed = self._leaves.at(values[0])
            else:
                below = message_up(self._sum(values[:-1]), kernel=normal_kernel(values[-1]))
                summed = self._joins[len(values) - 2].gather(below)
            self._sums[values] = summed
        return self._sums[values]
