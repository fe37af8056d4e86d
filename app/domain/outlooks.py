"""What is expected of one batch from its last count on, and the days that follow from it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

import numpy as np

from app.domain.check_plans import LearnedCount
from app.domain.fit_records import BatchToForecast
from app.domain.nursery_fits import GRID, NurseryFit, predicted_onset
from app.domain.outcomes import CheckCounts, CheckKind, Standing, in_order
from app.stats.next_looks import Outlook, outlook
from app.stats.onset_curves import log_within
from app.stats.onset_trees import LOG_MEDIANS
from app.stats.share_grids import Floats

# Below this many finished batches of the genus with roots, the fixed plan is kept.
FEWEST_FOR_TIMES: Final = 3
KEPT_DAYS: Final = 60


@dataclass(frozen=True, kw_only=True)
class BatchOutlook:
    """What is expected of a batch, and when to count next because of it.

    `new_by[d]` is how many are expected to have newly rooted d days after `from_on`; `ever` how
    many still will. With `finish` hardly anything more is expected.
    """

    from_on: date
    count: LearnedCount
    new_by: tuple[float, ...]
    ever: float
    finish: bool


def times_are_known(fit: NurseryFit, *, genus: int) -> bool:
    """Return whether enough is finished to forecast, with at least three batches of the genus."""
    own = fit.group_times(genus=genus, cutting_type=-1)
    return fit.may_forecast and own.genus == genus and own.finished >= FEWEST_FOR_TIMES


def batch_outlook(
    fit: NurseryFit, batch: BatchToForecast, *, checks: Iterable[CheckCounts], standing: Standing
) -> BatchOutlook | None:
    """Return what is expected of the batch, or None where that is not known.

    It is not where nothing is unrooted any more, or too little is finished of the genus.
    """
    if standing.unrooted == 0 or not times_are_known(fit, genus=batch.genus):
        return None
    found = _outlook(fit, batch, checks, standing)
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
    )


def _outlook(
    fit: NurseryFit, batch: BatchToForecast, checks: Iterable[CheckCounts], standing: Standing
) -> Outlook:
    spans, rooted = _looks(batch, checks)
    failed = float(standing.lost + standing.dumped)
    share_prior, onset_prior = _priors(fit, batch)
    x = GRID.middles
    share_logs = (
        np.log(np.maximum(share_prior, 1e-300))
        + standing.rooted * np.log(x)
        + failed * np.log1p(-x)
    )
    onset_logs = np.log(np.maximum(onset_prior, 1e-300))
    if len(spans):
        within = log_within(spans[:, 0], spans[:, 1], LOG_MEDIANS, scale=fit.onset_scale)
        onset_logs = onset_logs + rooted @ within
    age = float(((standing.counted_on or batch.stuck_on) - batch.stuck_on).days)
    return outlook(
        waiting=float(standing.unrooted),
        age=age,
        size=float(batch.stuck),
        share_masses=_masses(share_logs),
        shares=x,
        onset_masses=_masses(onset_logs),
        log_medians=LOG_MEDIANS,
        scale=fit.onset_scale,
        still=float(fit.failure_curve(batch.genus).remaining(np.array([age]))[0]),
    )


def _priors(fit: NurseryFit, batch: BatchToForecast) -> tuple[Floats, Floats]:
    known = np.flatnonzero(fit.open_batches.batch_ids == batch.batch_id)
    if len(known):
        place = int(known[0])
        return fit.open_batches.share_priors[place], fit.open_batches.onset_priors[place]
    shares = fit.shares_by_genus.get(batch.genus, fit.shares_by_genus[0])
    return shares, predicted_onset(fit, genus=batch.genus, cutting_type=batch.cutting_type)


def _looks(batch: BatchToForecast, checks: Iterable[CheckCounts]) -> tuple[Floats, Floats]:
    rooted: dict[int, float] = {}
    for check in in_order(checks):
        if check.kind is CheckKind.COUNTED:
            age = (check.checked_on - batch.stuck_on).days
            rooted[age] = rooted.get(age, 0.0) + check.rooted
    ages = sorted(rooted)
    starts = [0, *ages][: len(ages)]
    spans = np.array([starts, ages], dtype=float).T
    # A count on the day of sticking says nothing of days: it is put just after it.
    spans[:, 1] = np.maximum(spans[:, 1], 0.5)
    return spans, np.array([rooted[age] for age in ages])


def _masses(logs: Floats) -> Floats:
    masses = np.exp(logs - logs.max())
    return np.asarray(masses / masses.sum())
