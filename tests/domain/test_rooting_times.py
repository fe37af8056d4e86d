"""Times to root learned from simulated nurseries of known truth, and their words' numbers."""

import numpy as np
import pytest
from scipy.stats import norm

from app.domain.fit_records import FitRecords
from app.domain.nursery_fits import NurseryFit, fit_nursery
from app.domain.rooting_times import (
    EVERY_TYPE,
    WHOLE_NURSERY,
    all_rooting_times,
    rooting_curve,
    rooting_times,
)
from tests.simulated_nursery.batches import EARLY_ROT, Group, Habits
from tests.simulated_nursery.nurseries import simulate

# Far below the day on which the rest is thrown out: what would root after that is never seen.
MEDIANS = (14.0, 17.0, 20.0, 24.0, 28.0, 33.0, 38.0)
HABITS = Habits()
SEMI_RIPE = 3


def learned(seed: int) -> NurseryFit:
    """Seven genera of known medians with twenty finished batches each, and one never finished."""
    groups = [Group(rate=0.7, median_days=median, habit=EARLY_ROT) for median in (*MEDIANS, 30.0)]
    number = len(MEDIANS)
    group_of = np.array([*np.repeat(np.arange(number), 20), number])
    ago = np.array([*[200.0] * (20 * number), 5.0])
    grown = simulate(groups, group_of=group_of, stuck_ago=ago, rng=np.random.default_rng(seed))
    ones = np.ones(len(ago), dtype=np.int64)
    return fit_nursery(
        FitRecords(
            batch_ids=np.arange(1, len(ago) + 1),
            genus=group_of + 1,
            cutting_type=SEMI_RIPE * ones,
            method=ones,
            month=5 * ones,
            histories=grown.histories,
        )
    )


@pytest.fixture(scope="module")
def fit() -> NurseryFit:
    return learned(1)


def truth(median: float, share: float) -> float:
    """The day of a new cutting of a new batch: log-normal within and between batches."""
    spread = np.hypot(HABITS.log_sd, HABITS.batch_log_sd)
    return float(median * np.exp(spread * norm.ppf(share)))


def test_the_days_are_found_again_with_ranges_that_hold_them() -> None:
    errors, held = [], []
    for seed in range(1, 6):
        fit = learned(seed)
        for place, median in enumerate(MEDIANS, start=1):
            found = rooting_times(fit, genus=place, cutting_type=SEMI_RIPE)
            assert found is not None
            assert 17 <= found.finished <= 20
            for told, share in ((found.tenth, 0.1), (found.half, 0.5), (found.nine_tenths, 0.9)):
                assert told.low < told.day < told.high
                errors.append(told.day / truth(median, share) - 1.0)
                held.append(told.low <= truth(median, share) <= told.high)
    assert np.sqrt(np.mean(np.square(errors))) < 0.07
    assert abs(np.mean(errors)) < 0.03
    assert np.mean(held) > 0.85


def test_a_genus_never_finished_leans_on_the_nursery_and_is_wide(fit: NurseryFit) -> None:
    known = rooting_times(fit, genus=3, cutting_type=SEMI_RIPE)
    unknown = rooting_times(fit, genus=8, cutting_type=SEMI_RIPE)
    whole = rooting_times(fit, genus=WHOLE_NURSERY, cutting_type=EVERY_TYPE)
    assert known is not None
    assert unknown is not None
    assert whole is not None
    assert unknown.finished == 0
    assert unknown.half.day == pytest.approx(whole.half.day, rel=0.1)
    assert unknown.half.high / unknown.half.low > 3 * known.half.high / known.half.low
    assert rooting_times(fit, genus=99, cutting_type=SEMI_RIPE) is None


def test_every_group_is_listed_once(fit: NurseryFit) -> None:
    listed = [(times.genus, times.cutting_type) for times in all_rooting_times(fit)]
    assert len(listed) == len(set(listed)) == 1 + 8 + 8


def test_the_curve_passes_through_the_days(fit: NurseryFit) -> None:
    found = rooting_times(fit, genus=3, cutting_type=SEMI_RIPE)
    curve = rooting_curve(fit, genus=3, cutting_type=SEMI_RIPE)
    assert found is not None
    for told, share in ((found.tenth, 0.1), (found.half, 0.5), (found.nine_tenths, 0.9)):
        assert np.interp(told.day, curve.days, curve.shares) == pytest.approx(share, abs=0.01)
        assert np.interp(told.low, curve.days, curve.high_shares) == pytest.approx(share, abs=0.01)
        assert np.interp(told.high, curve.days, curve.low_shares) == pytest.approx(share, abs=0.01)
    assert (curve.low_shares <= curve.shares).all()
    assert (curve.shares <= curve.high_shares).all()
    assert (np.diff(curve.shares) > 0.0).all()
    assert curve.days[0] == 1.0
    assert curve.shares[-1] >= 0.98
