"""The likelihood of a cluster's share while some of its items still wait.

A waiting item is one that will set in but has not yet, or one that never will and has not failed
yet. With p the cluster's share, r set in, d failed and m waiting at age t:

L(p) = p^r (1-p)^d sum over theta and (c, delta) of their weights times
       prod dF_j(theta)^r_j prod [c dD_j(delta)]^d_j [p S_G(t) + (1-p) S_H(t)]^m

where S_G = 1 - F and S_H = 1 - c + c (1 - D). A settled cluster needs none of this: m = 0 leaves
the binomial. Source: the mixture model for competing risks, M. G. Larson and G. E. Dinse (1985),
Applied Statistics 34:201-211 (from memory), with a latent class per item.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from app.stats.failure_curves import FailureNodes
from app.stats.histories import Histories
from app.stats.onset_curves import log_not_yet, log_within
from app.stats.share_grids import Floats, ShareGrid

# Pairs of nodes whose weight stays e^-18 below the best at every anchor change nothing.
_PRUNE: Final = 18.0
_ANCHORS: Final = np.array([0.02, 0.1, 0.25, 0.5, 0.75, 0.9, 0.98])


@dataclass(frozen=True, kw_only=True)
class OnsetNodes:
    """Log medians of onset with log weights per cluster, shape (clusters, nodes), and the scale."""

    log_medians: Floats
    log_weights: Floats
    scale: float


def open_log_likelihoods(
    histories: Histories,
    *,
    onset: OnsetNodes,
    failure: FailureNodes,
    grid: ShareGrid,
) -> Floats:
    """Return log L(p) for each cluster on the grid, shape (clusters, bins).

    A cluster that was never counted has a flat likelihood: it says nothing yet.
    """
    onset_logs = onset.log_weights + _onset_sums(histories, onset)
    failure_logs = failure.log_weights + _failure_sums(histories, failure)
    not_yet = np.exp(
        log_not_yet(histories.waiting_age, log_medians=onset.log_medians, scale=onset.scale)
    )
    still = _still_there(histories.waiting_age, failure)
    set_in = histories.total(histories.onsets)
    failed = histories.total(histories.failures) + histories.written_off
    rows = np.empty((histories.count, grid.bins))
    for place in range(histories.count):
        pairs = _Pairs.of(onset_logs[place], failure_logs[place], not_yet[place], still[place])
        mixed = pairs.log_mixture(float(histories.waiting[place]), grid.middles)
        known = set_in[place] * np.log(grid.middles) + failed[place] * np.log1p(-grid.middles)
        rows[place] = known + mixed
    return rows


@dataclass(frozen=True, kw_only=True)
class _Pairs:
    """All pairs of an onset node and a failure node: log weight, S_G and S_H."""

    logs: Floats
    not_yet: Floats
    still: Floats

    @classmethod
    def of(cls, onset: Floats, failure: Floats, not_yet: Floats, still: Floats) -> "_Pairs":
        shape = (len(onset), len(failure))
        return cls(
            logs=(onset[:, None] + failure[None, :]).ravel(),
            not_yet=np.broadcast_to(not_yet[:, None], shape).ravel(),
            still=np.broadcast_to(still[None, :], shape).ravel(),
        )

    def log_mixture(self, waiting: float, shares: Floats) -> Floats:
        """Return log of the weighted sum of [p S_G + (1 - p) S_H]^m at each share."""
        if waiting == 0.0:
            top = self.logs.max()
            return np.full(len(shares), top + np.log(np.exp(self.logs - top).sum()))
        kept = self._kept(waiting)
        values = self._values(waiting, shares, kept)
        tops = values.max(axis=0)
        return np.asarray(tops + np.log(np.exp(values - tops).sum(axis=0)))

    def _kept(self, waiting: float) -> Floats:
        anchors = self._values(waiting, _ANCHORS, np.ones(len(self.logs), dtype=bool))
        return np.asarray((anchors > anchors.max(axis=0) - _PRUNE).any(axis=1))

    def _values(self, waiting: float, shares: Floats, kept: Floats) -> Floats:
        still = self.still[kept][:, None]
        stays = still + shares[None, :] * (self.not_yet[kept][:, None] - still)
        return np.asarray(self.logs[kept][:, None] + waiting * np.log(stays))


def _still_there(ages: Floats, failure: FailureNodes) -> Floats:
    left = np.exp(log_not_yet(ages, log_medians=failure.log_medians, scale=failure.scale))
    return np.asarray(1.0 - failure.shares + failure.shares * left)


def _onset_sums(histories: Histories, onset: OnsetNodes) -> Floats:
    within = log_within(
        histories.start, ends=histories.end, log_medians=onset.log_medians, scale=onset.scale
    )
    return np.asarray(histories.spread(histories.onsets) @ within)


def _failure_sums(histories: Histories, failure: FailureNodes) -> Floats:
    within = log_within(
        histories.start, ends=histories.end, log_medians=failure.log_medians, scale=failure.scale
    )
    looks = histories.spread(histories.failures) @ (within + np.log(failure.shares)[None, :])
    off = np.log(_still_there(histories.written_off_age, failure))
    return np.asarray(looks + histories.written_off[:, None] * off)
