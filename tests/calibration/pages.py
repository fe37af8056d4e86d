"""The simulated log as the pages' own functions take it, so that what is tried is what is shown."""

from typing import Final

import numpy as np

from app.domain.comparisons_batches import LoggedBatches, Outcomes
from app.domain.fit_records import FitRecords
from app.domain.nursery_fits import NurseryFit
from app.domain.rate_estimates import estimate_groups
from app.domain.rate_members import RateMembers
from app.domain.strike_rates_keys import RateKey
from app.stats.share_grids import Floats
from app.stats.trees import Ints
from tests.simulated_nursery import SimulatedBatches, Work

# The log is read on this day of the year, so that months and seasons have their numbers.
_TODAY_MONTH: Final = 6


def records_of(batches: SimulatedBatches) -> FitRecords:
    """Return the log as it is learned from: groups are genera, all of one type and method."""
    count = batches.histories.count
    months_ago = np.floor(batches.stuck_ago / 30.5).astype(int)
    return FitRecords(
        batch_ids=np.arange(count),
        genus=batches.group + 1,
        cutting_type=np.zeros(count, dtype=int),
        method=np.zeros(count, dtype=int),
        month=(_TODAY_MONTH - 1 - months_ago) % 12 + 1,
        histories=batches.histories,
    )


def genus_rates(
    fit: NurseryFit, batches: SimulatedBatches, asked: Ints
) -> dict[int, tuple[float, float, float]]:
    """Return estimate and both limits for each genus, as for `by genus` of the asked batches.

    A genus of which nothing can be said is left out.
    """
    histories = batches.histories
    genera, groups = np.unique(batches.group[asked], return_inverse=True)
    rooted = histories.total(histories.onsets)[asked]
    failed = (histories.total(histories.failures) + histories.written_off)[asked]
    members = RateMembers(
        batch_ids=asked,
        groups=groups,
        values={RateKey.GENUS: groups},
        rooted=rooted,
        failed=failed,
        unknown=histories.waiting[asked],
    )
    found = estimate_groups(members, groups=len(genera), by=(RateKey.GENUS,), fit=fit)
    return {
        int(genus): (one.share, one.low_share, one.high_share)
        for genus, one in zip(genera, found, strict=True)
        if one is not None
    }


def logged_batches(work: Work, *, rooted: Floats, stuck: Floats) -> LoggedBatches:
    """Return finished batches as comparisons take them, all with one hormone."""
    count = len(stuck)
    return LoggedBatches(
        batch_ids=np.arange(count),
        genus=work.genus + 1,
        cutting_type=np.ones(count, dtype=int),
        hormone=np.ones(count, dtype=int),
        month=work.month,
        person=work.person + 1,
        stuck=stuck.astype(int),
        rooted=rooted.astype(int),
        unknown=np.zeros(count, dtype=int),
    )


def finished_outcomes(rooted: Floats, *, stuck: Floats) -> Outcomes:
    """Return what is known of finished batches: all."""
    count = len(stuck)
    return Outcomes(
        shares=rooted / stuck,
        sizes=stuck.astype(float),
        usable=np.ones(count, dtype=bool),
        nearly=np.zeros(count, dtype=bool),
    )
