"""What is expected of one batch from its last count on, and the days that follow from it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

import numpy as np

from app.domain.check_plans import LearnedCount
from app.domain.fit_records import BatchToForecast
from app.domain.nursery_fits import GRID, NurseryFit, predicted_onset
from app.domain.outcomes import CheckCounts, CheckKind, Standing, in_order
from app.stats.failure_curves import failure_nodes
from app.stats.next_looks import Known, Sample, outlook
from app.stats.onset_curves import log_not_yet, log_within
from app.stats.onset_trees import LOG_MEDIANS
from app.stats.share_grids import Floats

# Below this many finished batches of the genus with roots, the fixed plan is kept.
FEWEST_FOR_TIMES: Final = 3
KEPT_DAYS: Final = 60
_STILL_BINS: Final = 10


@dataclass(frozen=True, kw_only=True)
class BatchOutlook:
    """What is expected of a batch, and when to count next because of it.

    `new_by[d]` is how many are expected to have newly rooted d days after `from_on`; `ever` how
    many still will. With `finish` hardly anything more is expected. `leans_on` is how many
    finished batches of the genus with roots this rests on.
    """

    from_on: date
    count: LearnedCount
    new_by: tuple[float, ...]
    ever: float
    finish: bool
    leans_on: int


def times_are_known(fit: NurseryFit, *, genus: int) -> bool:
    """Return whether enough is finished to forecast, with at least three batches of the genus."""
    return fit.may_forecast and finished_of_genus(fit, genus=genus) >= FEWEST_FOR_TIMES


def finished_of_genus(fit: NurseryFit, *, genus: int) -> int:
    """Return how many finished batches of the genus, with roots, its times rest on."""
    own = fit.group_times(genus=genus, cutting_type=-1)
    return own.finished if own.genus == genus else 0


def batch_outlook(
    fit: NurseryFit, *, batch: BatchToForecast, checks: Sequence[CheckCounts], standing: Standing
) -> BatchOutlook | None:
    """Return what is expected of the batch, or None where that is not known.

    It is not where nothing is unrooted any more, or too little is finished of the genus.
    """
    if standing.unrooted == 0 or not times_are_known(fit, genus=batch.genus):
        return None
    found = outlook(known_of_batch(fit, batch=batch, checks=checks, standing=standing))
    from_on = standing.counted_on or batch.stuck_on
    return BatchOutlook(
        from_on=from_on,
        count=LearnedCount(
            count_on=from_on + timedelta(days=found.due_after()),
            late_on=from_on + timedelta(days=found.late_after()),
        ),
        new_by=tuple(round(float(number), 2) for number in found.new_by[: KEPT_DAYS + 1]),
        ever=round(found.ever, 2),
        finish=found.time_to_finish(),
        leans_on=finished_of_genus(fit, genus=batch.genus),
    )


def known_of_batch(
    fit: NurseryFit, *, batch: BatchToForecast, checks: Sequence[CheckCounts], standing: Standing
) -> Known:
    """Return what its group and its own counts say of an open batch, at its last count.

    What share of its cuttings that never root fails by itself is its own habit, round the
    genus's: a batch that only lingers is not taken for one that roots late.
    """
    looks = _Looks.of(batch, checks)
    share_prior, onset_prior = _priors(fit, batch)
    x = GRID.middles
    failed = float(standing.lost + standing.dumped)
    share_logs = _logs(share_prior) + standing.rooted * np.log(x) + failed * np.log1p(-x)
    onset_logs = _logs(onset_prior)
    if len(looks.rooted):
        within = log_within(
            looks.starts, ends=looks.ends, log_medians=LOG_MEDIANS, scale=fit.onset_scale
        )
        onset_logs = onset_logs + looks.rooted @ within
    age = float(((standing.counted_on or batch.stuck_on) - batch.stuck_on).days)
    still, still_masses = _still_there(fit, batch.genus, looks=looks, age=age)
    return Known(
        waiting=float(standing.unrooted),
        age=age,
        size=float(batch.stuck),
        shares=x,
        share_masses=_masses(share_logs),
        log_medians=LOG_MEDIANS,
        onset_masses=_masses(onset_logs),
        scale=fit.onset_scale,
        still=still,
        still_masses=still_masses,
        samples=_samples(batch, checks, counted_on=standing.counted_on),
    )


def _samples(
    batch: BatchToForecast, checks: Sequence[CheckCounts], *, counted_on: date | None
) -> tuple[Sample, ...]:
    """Return the samples since the last count: they feed the forecast, never the totals."""
    since = counted_on or batch.stuck_on
    return tuple(
        Sample(
            age=float((check.checked_on - batch.stuck_on).days),
            looked=float(check.looked or 0),
            set_in=float(check.rooted),
        )
        for check in in_order(checks)
        if check.kind is CheckKind.SAMPLE and check.checked_on > since
    )


@dataclass(frozen=True, kw_only=True)
class _Looks:
    """A batch's counts by days since sticking, those of one day together."""

    starts: Floats
    ends: Floats
    rooted: Floats
    lost: Floats

    @classmethod
    def of(cls, batch: BatchToForecast, checks: Sequence[CheckCounts]) -> "_Looks":
        counts: dict[int, tuple[int, int]] = {}
        for check in in_order(checks):
            if check.kind is CheckKind.COUNTED:
                age = (check.checked_on - batch.stuck_on).days
                rooted, lost = counts.get(age, (0, 0))
                counts[age] = (rooted + check.rooted, lost + check.lost_in_all)
        ages = sorted(counts)
        return cls(
            starts=np.array([0, *ages][: len(ages)], dtype=float),
            # A count on the day of sticking says nothing of days: it is put just after it.
            ends=np.maximum(np.array(ages, dtype=float), 0.5),
            rooted=np.array([counts[age][0] for age in ages], dtype=float),
            lost=np.array([counts[age][1] for age in ages], dtype=float),
        )


def _priors(fit: NurseryFit, batch: BatchToForecast) -> tuple[Floats, Floats]:
    known = np.flatnonzero(fit.open_batches.batch_ids == batch.batch_id)
    if len(known):
        place = int(known[0])
        return fit.open_batches.share_priors[place], fit.open_batches.onset_priors[place]
    shares = fit.shares_by_genus.get(batch.genus, fit.shares_by_genus[0])
    return shares, predicted_onset(fit, genus=batch.genus, cutting_type=batch.cutting_type)


def _still_there(
    fit: NurseryFit, genus: int, *, looks: _Looks, age: float
) -> tuple[Floats, Floats]:
    """Return shares of the never rooting still there at an age, and their masses, a few of each."""
    nodes = failure_nodes(fit.failure_curve(genus))
    logs = nodes.log_weights
    if looks.lost.any():
        within = log_within(
            looks.starts, ends=looks.ends, log_medians=nodes.log_medians, scale=nodes.scale
        )
        logs = logs + looks.lost @ within + looks.lost.sum() * np.log(nodes.shares)
    left = np.exp(log_not_yet(np.array([age]), log_medians=nodes.log_medians, scale=nodes.scale))[0]
    still, masses = 1.0 - nodes.shares * (1.0 - left), _masses(logs)
    # Near values are put together; likely and unlikely ones far apart never are.
    place = np.minimum((still * _STILL_BINS).astype(np.int64), _STILL_BINS - 1)
    sums = np.bincount(place, weights=masses, minlength=_STILL_BINS).astype(np.float64)
    means = np.bincount(place, weights=masses * still, minlength=_STILL_BINS)
    filled = sums > 0.0
    return np.asarray(means[filled] / sums[filled]), sums[filled]


def _logs(masses: Floats) -> Floats:
    return np.asarray(np.log(np.maximum(masses, 1e-300)))


def _masses(logs: Floats) -> Floats:
    masses = np.exp(logs - logs.max())
    return np.asarray(masses / masses.sum())
