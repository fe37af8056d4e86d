"""What is expected of one batch from its last count on, and the days that follow from it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

import numpy as np

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
class LearnedDates:
    """When to count next by what was learned, and from when on it is late.

    `new_by[d]` is how many are expected to have newly rooted d days after `from_on`; `ever` how
    many still will. With `finish` hardly anything more is expected.
    """

    from_on: date
    count_on: date
    late_on: date
    new_by: tuple[float, ...]
    ever: float
    finish: bool

    def new_on(self, day: date) -> float:
        """Return how many are expected to have newly rooted by a day, 0 before `from_on`."""
        place = min(max((day - self.from_on).days, 0), len(self.new_by) - 1)
        return self.new_by[place]

    def waited_on(self, day: date) -> float:
        """Return the cutting-days that rooted ones have stood by a day."""
        return sum(self.new_by[: max((day - self.from_on).days, 0) + 1])


@dataclass(frozen=True, kw_only=True)
class BatchToForecast:
    """The batch as the forecast needs it; `cutting_type` is the fit's number of the type."""

    batch_id: int
    genus: int
    cutting_type: int
    stuck_on: date
    stuck: int


def times_are_known(fit: NurseryFit, *, genus: int) -> bool:
    """Return whether enough is finished to forecast, with at least three batches of the genus."""
    own = fit.group_times(genus=genus, cutting_type=-1)
    return fit.may_forecast and own.genus == genus and own.finished >= FEWEST_FOR_TIMES


def learned_dates(
    fit: NurseryFit, batch: BatchToForecast, *, checks: Iterable[CheckCounts], standing: Standing
) -> LearnedDates | None:
    """Return the batch's next dates, or None where the fixed plan holds: nothing is unrooted, or
    too little is known of the genus."""
    if standing.unrooted == 0 or not times_are_known(fit, genus=batch.genus):
        return None
    found = _outlook(fit, batch, checks, standing)
    from_on = standing.counted_on or batch.stuck_on
    return LearnedDates(
        from_on=from_on,
        count_on=from_on + timedelta(days=found.due_after()),
        late_on=from_on + timedelta(days=found.late_after()),
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
    spans = np.array(list(zip([0, *ages[:-1]], ages, strict=True)), dtype=float).reshape(-1, 2)
    # A count on the day of sticking says nothing of days: it is put just after it.
    spans[:, 1] = np.maximum(spans[:, 1], 0.5)
    return spans, np.array([rooted[age] for age in ages])


def _masses(logs: Floats) -> Floats:
    masses = np.exp(logs - logs.max())
    return np.asarray(masses / masses.sum())
