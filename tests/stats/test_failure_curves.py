"""How those that never set in fail: found again from draws, and leaning on a wider curve."""

import numpy as np
import pytest

from app.stats.failure_curves import FailureCurve, fit_failure_curve
from app.stats.histories import Histories
from tests.simulated_nursery import EARLY_ROT, LATE_DEATH, LINGERING, DeathHabit, Group, simulate

WIDER = FailureCurve(share=0.8, log_median=np.log(12.0), scale=0.3, clusters=80)


def finished(death: DeathHabit, *, batches: int, seed: int) -> Histories:
    return simulate(
        [Group(rate=0.5, habit=death)],
        group_of=np.zeros(batches, dtype=int),
        stuck_ago=np.full(batches, 200),
        rng=np.random.default_rng(seed),
    ).histories


@pytest.mark.parametrize("death", [EARLY_ROT, LATE_DEATH, LINGERING])
def test_it_finds_the_habit_again(death: DeathHabit) -> None:
    found = fit_failure_curve(finished(death, batches=300, seed=4), correlation=0.08)
    ages = np.array([10.0, 20.0, 40.0, 60.0, 80.0])
    # the share still there of log-normal days, which the log-logistic only nears
    z = np.log(ages / death.median_days) / death.log_sd
    truth = 1.0 - death.share * np.array([0.5 * (1.0 + np.tanh(0.8 * x)) for x in z])
    assert found.remaining(ages) == pytest.approx(truth, abs=0.06)


def test_without_own_failures_it_is_the_wider_curve() -> None:
    nothing = finished(EARLY_ROT, batches=1, seed=1).chosen(np.zeros(0, dtype=int))
    found = fit_failure_curve(nothing, correlation=0.08, leaning_on=WIDER)
    assert found.share == pytest.approx(WIDER.share, abs=0.02)
    assert found.log_median == pytest.approx(WIDER.log_median, abs=0.02)
    assert found.scale == WIDER.scale
    assert found.clusters == 0


def test_a_few_batches_of_its_own_move_it_towards_their_habit() -> None:
    ages = np.array([60.0])
    few, many = (
        fit_failure_curve(
            finished(LINGERING, batches=n, seed=7), correlation=0.08, leaning_on=WIDER
        ).remaining(ages)[0]
        for n in (4, 60)
    )
    assert WIDER.remaining(ages)[0] < 0.25
    assert 0.55 < few < many < 0.86
