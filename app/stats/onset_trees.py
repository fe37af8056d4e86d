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
        return np.asarray(cavity(groups, self.climbed.messages[0]) @ normal_kernel(self.sds[0]))


def log_prior_of_root() -> Floats:
    """Return the root's log masses: a broad normal round log 32 days."""
    logs = -0.5 * ((LOG_MEDIANS - np.log(START_MEDIAN)) / _ROOT_SD) ** 2
    return np.asarray(logs - np.log(np.exp(logs).sum()))


def fit_onset_tree(
    histories: Histories,
    levels: OnsetLevels,
    *,
    shares: Floats,
    remaining: Floats,
    start_sds: Sequence[float],
) -> FittedOnsets:
    """Return the fitted tree.

    `shares[c]` is the expected share of cluster c (0 to 1), `remaining[c]` the probability that
    an item of it that never sets in is still there at the waiting age; both weigh the waiting
    items. `start_sds` are the priors' medians, clusters first.
    """
    search = _Search(
        histories=histories,
        levels=levels,
        shares=shares,
        remaining=remaining,
        start_sds=tuple(start_sds),
    )
    return search.fitted()


def onset_log_likelihoods(
    histories: Histories, *, shares: Floats, remaining: Floats, scale: float
) -> Floats:
    """Return each cluster's log-likelihood of its own log median, shape (clusters, 90).

    sum_j r_j log dF_j + m log(p S_G(t) + (1 - p) S_H(t)). Intervals that occur several times are
    worked out once.
    """
    spans, place = np.unique(
        np.stack([histories.start, histories.end]), axis=1, return_inverse=True
    )
    within = log_within(spans[0], spans[1], LOG_MEDIANS, scale=scale)
    looks = histories.spread(histories.onsets) @ within[place.ravel()]
    not_yet = np.exp(log_not_yet(histories.waiting_age, LOG_MEDIANS, scale=scale))
    stays = shares[:, None] * not_yet + ((1.0 - shares) * remaining)[:, None]
    return np.asarray(looks + histories.waiting[:, None] * np.log(np.maximum(stays, 1e-300)))


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
    ) -> None:
        self._histories = histories
        self._levels = levels
        self._joins = levels.joins()
        self._shares = shares
        self._remaining = remaining
        self._centres = np.log((START_SCALE, *start_sds))
        self._grids = (_SCALES, *([_SDS] * len(start_sds)))
        self._leaves: dict[int, Floats] = {}

    def fitted(self) -> FittedOnsets:
        """Return the tree at the mode."""
        places = self._best()
        scale, *sds = (float(g[i]) for g, i in zip(self._grids, places, strict=True))
        kernels = [normal_kernel(sd) for sd in sds]
        climbed = climb(self._leaf(places[0]), self._joins, kernels)
        return FittedOnsets(
            scale=scale,
            sds=tuple(sds),
            levels=self._levels,
            climbed=climbed,
            posteriors=descend(climbed, self._joins, kernels, log_prior=log_prior_of_root()),
        )

    def _best(self) -> tuple[int, ...]:
        pairs = zip(self._grids, self._centres, strict=True)
        start = [int(np.abs(np.log(grid) - centre).argmin()) for grid, centre in pairs]
        sizes = [len(grid) for grid in self._grids]
        return best_place(self._score, start=start, sizes=sizes, steps=_STEPS)

    def _score(self, places: tuple[int, ...]) -> float:
        values = np.array([g[i] for g, i in zip(self._grids, places, strict=True)])
        kernels = [normal_kernel(float(sd)) for sd in values[1:]]
        climbed = climb(self._leaf(places[0]), self._joins, kernels)
        prior = -0.5 * float((((np.log(values) - self._centres) / _PRIOR_LOG_SD) ** 2).sum())
        return climbed.log_marginal(log_prior_of_root()) + prior

    def _leaf(self, place: int) -> Floats:
        if place not in self._leaves:
            self._leaves[place] = onset_log_likelihoods(
                self._histories,
                shares=self._shares,
                remaining=self._remaining,
                scale=float(_SCALES[place]),
            )
        return self._leaves[place]
