"""Shares of groups when some clusters are still open: both trees and the failure curve, joined.

One sweep: share tree on what is settled -> failure curve -> onset tree -> likelihood of the open
clusters -> share tree on all. Swept twice, so that each tree has leaned on the other; this is an
approximation (scatters and curves are plugged in at their modes), calibrated by simulation.
"""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from app.stats.beta_trees import Clusters, FittedTree, Levels, fit_beta_tree
from app.stats.failure_curves import FailureCurve, failure_nodes, fit_failure_curve
from app.stats.histories import Histories
from app.stats.onset_trees import (
    LOG_MEDIANS,
    FittedOnsets,
    OnsetLevels,
    fit_onset_tree,
)
from app.stats.share_grids import Floats, ShareGrid
from app.stats.trees import Ints
from app.stats.two_fates import OnsetNodes, open_log_likelihoods

SWEEPS: Final = 2


@dataclass(frozen=True, kw_only=True)
class FailureCurves:
    """The curve of everything, and one per branch that leans on it."""

    whole: FailureCurve
    by_branch: dict[int, FailureCurve]


@dataclass(frozen=True, kw_only=True)
class Forecast:
    """The share tree on everything, and what it rests on.

    `open_logs` holds the log-likelihood of each open cluster's share, rows as in `open_places`.
    """

    shares: FittedTree
    onsets: FittedOnsets
    failures: FailureCurves
    open_places: Ints
    open_logs: Floats


def forecast_shares(
    histories: Histories,
    *,
    groups: Ints,
    levels: Levels,
    centres: tuple[float, ...],
    onset_levels: OnsetLevels,
    onset_sds: tuple[float, ...],
    branches: Ints,
    grid: ShareGrid | None = None,
) -> Forecast:
    """Return the fitted forecast.

    `groups[c]` is cluster c's lowest group in `levels`; `centres` and `onset_sds` are the
    priors' medians of the share tree's concentrations and of the onset tree's sds. Clusters of
    one of the `branches` share a failure curve, which leans on the one of all.
    """
    sweeps = _Sweeps(
        histories=histories,
        groups=groups,
        levels=levels,
        centres=centres,
        onset_levels=onset_levels,
        onset_sds=onset_sds,
        branches=branches,
        grid=grid or ShareGrid(),
    )
    forecast = sweeps.first()
    for _ in range(SWEEPS - 1):
        forecast = sweeps.again(forecast)
    return forecast


@dataclass(frozen=True, kw_only=True)
class _Sweeps:
    """The data and priors that every sweep shares."""

    histories: Histories
    groups: Ints
    levels: Levels
    centres: tuple[float, ...]
    onset_levels: OnsetLevels
    onset_sds: tuple[float, ...]
    branches: Ints
    grid: ShareGrid

    def first(self) -> Forecast:
        """Return the first sweep, begun from what the settled clusters say."""
        settled = np.flatnonzero(self.histories.waiting == 0)
        shares = fit_beta_tree(
            _settled_only(self.histories, self.groups, settled),
            levels=self.levels,
            centres=self.centres,
            grid=self.grid,
        )
        curves = _failure_curves(self.histories, settled, self.branches, shares.correlation)
        return self._swept(shares, curves=curves, near=None)

    def again(self, before: Forecast) -> Forecast:
        """Return one more sweep from what the one before found."""
        near = (before.onsets.scale, *before.onsets.sds)
        return self._swept(before.shares, curves=before.failures, near=near)

    def _swept(
        self, shares: FittedTree, *, curves: FailureCurves, near: tuple[float, ...] | None
    ) -> Forecast:
        settled = np.flatnonzero(self.histories.waiting == 0)
        waiting = np.flatnonzero(self.histories.waiting > 0)
        onsets = fit_onset_tree(
            self.histories,
            levels=self.onset_levels,
            shares=shares.posteriors[0][self.groups] @ self.grid.middles,
            remaining=_remaining(self.histories, self.branches, curves),
            start_sds=self.onset_sds,
            near=near,
        )
        logs = _open_logs(self.histories, waiting, onsets, self.branches, curves, self.grid)
        everything = replace(
            _settled_only(self.histories, self.groups, settled),
            open_logs=logs,
            open_groups=self.groups[waiting],
        )
        fitted = fit_beta_tree(
            everything,
            levels=self.levels,
            centres=self.centres,
            near=shares.concentrations,
            grid=self.grid,
        )
        return Forecast(
            shares=fitted, onsets=onsets, failures=curves, open_places=waiting, open_logs=logs
        )


def _settled_only(histories: Histories, groups: Ints, settled: Ints) -> Clusters:
    return Clusters(
        successes=histories.total(histories.onsets)[settled],
        sizes=histories.size[settled],
        groups=groups[settled],
    )


def _failure_curves(
    histories: Histories, settled: Ints, branches: Ints, correlation: float
) -> FailureCurves:
    whole = fit_failure_curve(histories.chosen(settled), correlation=correlation)
    return FailureCurves(
        whole=whole,
        by_branch={
            int(branch): fit_failure_curve(
                histories.chosen(settled[branches[settled] == branch]),
                correlation=correlation,
                leaning_on=whole,
            )
            for branch in np.unique(branches)
        },
    )


def _remaining(histories: Histories, branches: Ints, curves: FailureCurves) -> Floats:
    left = np.ones(histories.count)
    for branch, curve in curves.by_branch.items():
        mine = branches == branch
        left[mine] = curve.remaining(histories.waiting_age[mine])
    return left


def _open_logs(
    histories: Histories,
    waiting: Ints,
    onsets: FittedOnsets,
    branches: Ints,
    curves: FailureCurves,
    grid: ShareGrid,
) -> Floats:
    weights = np.log(np.maximum(onsets.without_own_data(), 1e-300))
    logs = np.zeros((len(waiting), grid.bins))
    for branch in np.unique(branches[waiting]):
        mine = branches[waiting] == branch
        places = waiting[mine]
        nodes = OnsetNodes(log_medians=LOG_MEDIANS, log_weights=weights[places], scale=onsets.scale)
        logs[mine] = open_log_likelihoods(
            histories.chosen(places),
            onset=nodes,
            failure=failure_nodes(curves.by_branch[int(branch)]),
            grid=grid,
        )
    return logs
