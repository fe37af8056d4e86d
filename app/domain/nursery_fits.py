"""What the whole nursery's batches have taught: how much batches differ, how fast they root, how
those that never root go, and what this says of every batch that still waits.

The share of a batch leans on its month or season, that on its method, its genus and the whole
nursery; its time to root on its genus and type, its genus and the whole nursery.
"""

from dataclasses import dataclass, field
from typing import Final

import numpy as np

from app.domain.fit_records import FEWEST_FINISHED, FitRecords
from app.stats.beta_binomials import concentration_of
from app.stats.beta_trees import Levels
from app.stats.failure_curves import FailureCurve
from app.stats.forecasts import Forecast, forecast_shares
from app.stats.group_posteriors import ASSUMED_CORRELATION
from app.stats.onset_trees import OnsetLevels, normal_kernel
from app.stats.share_grids import Bools, Floats, ShareGrid, beta_kernel
from app.stats.trees import Ints, cavity, message_up

GRID: Final = ShareGrid()
MONTHS_FROM: Final = 200
# Starting values, without a source, shown as assumptions until the nursery has its own: medians
# of the concentrations of batches, months, methods and genera, and of the spreads of log days.
START_CONCENTRATIONS: Final = (concentration_of(ASSUMED_CORRELATION), 30.0, 15.0, 5.0)
START_ONSET_SDS: Final = (0.15, 0.20, 0.30)


@dataclass(frozen=True, kw_only=True)
class OpenBatches:
    """What is known of each open batch, rows in the order of `batch_ids`.

    `share_logs` is the log-likelihood of its own share on GRID with the waiting ones at their
    usual odds; `share_priors` and `onset_priors` are what its group says of it without its own
    data.
    """

    batch_ids: Ints
    share_logs: Floats = field(repr=False)
    share_priors: Floats = field(repr=False)
    onset_priors: Floats = field(repr=False)


@dataclass(frozen=True, kw_only=True)
class GroupTimes:
    """Log medians to root of a group on the grid of `onset_trees`: masses that sum to 1."""

    genus: int
    cutting_type: int
    finished: int
    masses: Floats = field(repr=False)


@dataclass(frozen=True, kw_only=True)
class NurseryFit:
    """Everything learned, to be kept until the data change.

    `cluster_nodes` pairs concentrations of batches with weights. A genus of 0 in `times` means
    the whole nursery, a cutting type of -1 all types. `failures` holds the curve of the whole
    under 0 and of each genus with a finished batch, leaning on the whole, under its id.
    """

    finished: int
    finished_by_genus: dict[int, int]
    cluster_nodes: tuple[tuple[float, float], ...]
    concentrations: tuple[float, ...]
    onset_scale: float
    onset_sds: tuple[float, ...]
    failures: dict[int, FailureCurve]
    times: tuple[GroupTimes, ...]
    shares_by_genus: dict[int, Floats]
    open_batches: OpenBatches

    @property
    def correlation(self) -> float:
        """The correlation of two cuttings of one batch, as learned or as assumed."""
        return sum(weight / (k + 1.0) for k, weight in self.cluster_nodes)

    @property
    def may_forecast(self) -> bool:
        """Whether enough batches are finished to know how those that never root go."""
        return self.finished >= FEWEST_FINISHED

    def failure_curve(self, genus: int) -> FailureCurve:
        """Return the genus's own curve where a batch is finished, else the whole nursery's."""
        return self.failures.get(genus, self.failures[0])

    def group_times(self, *, genus: int, cutting_type: int) -> GroupTimes:
        """Return the times of the genus and type, else of the genus, else of the whole."""
        found = {(times.genus, times.cutting_type): times for times in self.times}
        for key in ((genus, cutting_type), (genus, -1)):
            if key in found:
                return found[key]
        return found[(0, -1)]


def fit_nursery(records: FitRecords) -> NurseryFit:
    """Return what the records teach; without any record, the starting values."""
    share_tree = _share_tree(records)
    onset_tree = _onset_tree(records)
    settled = records.histories.waiting == 0
    by_genus = _counted(records.genus[settled])
    found = forecast_shares(
        records.histories,
        groups=share_tree.cells,
        levels=share_tree.levels,
        centres=START_CONCENTRATIONS,
        onset_levels=onset_tree.levels,
        onset_sds=START_ONSET_SDS,
        branches=records.genus,
        grid=GRID,
    )
    return NurseryFit(
        finished=int(settled.sum()),
        finished_by_genus=by_genus,
        cluster_nodes=found.shares.cluster_nodes,
        concentrations=found.shares.concentrations,
        onset_scale=found.onsets.scale,
        onset_sds=found.onsets.sds,
        failures={0: found.failures.whole}
        | {genus: found.failures.by_branch[genus] for genus in by_genus},
        times=_times(records, found, onset_tree, settled),
        shares_by_genus=_shares_by_genus(found, share_tree),
        open_batches=_open_batches(records, found, share_tree),
    )


@dataclass(frozen=True, kw_only=True)
class _ShareTree:
    cells: Ints
    levels: Levels
    genera: Ints


@dataclass(frozen=True, kw_only=True)
class _OnsetTree:
    levels: OnsetLevels
    pairs: Ints
    genera: Ints


def _share_tree(records: FitRecords) -> _ShareTree:
    settled = int((records.histories.waiting == 0).sum())
    season = records.month if settled >= MONTHS_FROM else (records.month - 1) // 3
    genera, genus = np.unique(records.genus, return_inverse=True)
    methods, method = np.unique(np.stack([genus, records.method]), axis=1, return_inverse=True)
    cells, cell = np.unique(np.stack([method.ravel(), season]), axis=1, return_inverse=True)
    parents = (cells[0], methods[0], np.zeros(len(genera), dtype=np.int64))
    return _ShareTree(
        cells=cell.ravel(),
        levels=Levels(groups=cells.shape[1], parents=parents),
        genera=genera,
    )


def _onset_tree(records: FitRecords) -> _OnsetTree:
    genera, genus = np.unique(records.genus, return_inverse=True)
    pairs, pair = np.unique(np.stack([genus, records.cutting_type]), axis=1, return_inverse=True)
    levels = OnsetLevels(
        parents=(pair.ravel(), pairs[0], np.zeros(len(genera), dtype=np.int64)),
        counts=(pairs.shape[1], len(genera), 1),
    )
    return _OnsetTree(levels=levels, pairs=pairs, genera=genera)


def _counted(values: Ints) -> dict[int, int]:
    found, numbers = np.unique(values, return_counts=True)
    return {int(value): int(number) for value, number in zip(found, numbers, strict=True)}


def _times(
    records: FitRecords, found: Forecast, tree: _OnsetTree, settled: Bools
) -> tuple[GroupTimes, ...]:
    rooted = records.histories.total(records.histories.onsets) > 0
    pair_of = tree.levels.parents[0]
    by_pair = np.bincount(pair_of[settled & rooted], minlength=tree.pairs.shape[1])
    by_genus = np.bincount(tree.pairs[0], weights=by_pair, minlength=len(tree.genera))
    _, pairs, genera, whole = found.onsets.posteriors
    times = [GroupTimes(genus=0, cutting_type=-1, finished=int(by_pair.sum()), masses=whole[0])]
    times += [
        GroupTimes(genus=int(g), cutting_type=-1, finished=int(n), masses=row)
        for g, n, row in zip(tree.genera, by_genus, genera, strict=True)
    ]
    times += [
        GroupTimes(
            genus=int(tree.genera[place]), cutting_type=int(kind), finished=int(n), masses=row
        )
        for place, kind, n, row in zip(tree.pairs[0], tree.pairs[1], by_pair, pairs, strict=True)
    ]
    return tuple(times)


def _shares_by_genus(found: Forecast, tree: _ShareTree) -> dict[int, Floats]:
    """What a new batch of each genus would do, and of any (0): masses of its own share."""
    kernel = beta_kernel(GRID, concentration=found.shares.concentrations[0])
    rows = found.shares.posteriors[-2] @ kernel
    whole = found.shares.posteriors[-1][0] @ beta_kernel(
        GRID, concentration=found.shares.concentrations[-1]
    )
    by_genus = {int(genus): row for genus, row in zip(tree.genera, rows, strict=True)}
    return {0: whole @ kernel} | by_genus


def _open_batches(records: FitRecords, found: Forecast, tree: _ShareTree) -> OpenBatches:
    places = found.open_places
    kernel = beta_kernel(GRID, concentration=found.shares.concentrations[0])
    cells = found.shares.posteriors[0][tree.cells[places]]
    messages = (
        message_up(found.open_logs, kernel=kernel) if len(places) else np.zeros((0, GRID.bins))
    )
    return OpenBatches(
        batch_ids=records.batch_ids[places],
        share_logs=found.open_logs,
        share_priors=cavity(cells, messages=messages) @ kernel,
        onset_priors=found.onsets.without_own_data()[places],
    )


def predicted_onset(fit: NurseryFit, *, genus: int, cutting_type: int) -> Floats:
    """Return masses of a new batch's own log median, its spread round the group's included."""
    group = fit.group_times(genus=genus, cutting_type=cutting_type)
    return np.asarray(group.masses @ normal_kernel(fit.onset_sds[0]))
