"""The simulated nursery is what it says: counts add up, and what is put in can be found again."""

import numpy as np
import pytest
from scipy.special import expit, logit

from tests.simulated_nursery import (
    LATE_DEATH,
    RANDOMISED,
    STRONG,
    CheckHabit,
    Group,
    Habits,
    RootingShape,
    SimulatedBatches,
    batch_rates,
    deal_out,
    finished_counts,
    relative_days,
    share_in_time,
    simulate,
)


def one_genus(
    *, batches: int = 200, ago: int = 400, seed: int = 5, **given: object
) -> SimulatedBatches:
    return simulate(
        [Group(rate=0.6, median_days=30.0, habit=LATE_DEATH)],
        group_of=np.zeros(batches, dtype=int),
        stuck_ago=np.full(batches, ago),
        rng=np.random.default_rng(seed),
        habits=Habits(**given),
    )


@pytest.mark.parametrize("ago", [0, 20, 50, 400])
def test_every_cutting_is_in_one_state(ago: int) -> None:
    log = one_genus(ago=ago, cleared_share=0.3).histories
    seen = log.total(log.onsets) + log.total(log.failures)
    assert (seen + log.written_off + log.waiting == log.size).all()
    assert (log.start < log.end).all()
    assert log.end.max(initial=0.0) <= ago


def test_the_same_seed_gives_the_same_nursery() -> None:
    one, again, other = one_genus(), one_genus(), one_genus(seed=6)
    assert (one.histories.onsets == again.histories.onsets).all()
    assert one.histories.size.tolist() != other.histories.size.tolist()


def test_what_roots_in_time_is_what_the_log_shows() -> None:
    log = one_genus(batches=3_000, correlation=0.02).histories
    group = Group(rate=0.6, median_days=30.0, habit=LATE_DEATH)
    expected = 0.6 * share_in_time(group, habits=Habits())
    shown = (log.total(log.onsets) / log.size).mean()
    assert shown == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize("correlation", [0.02, 0.2])
def test_batches_scatter_as_much_as_asked(correlation: float) -> None:
    rng = np.random.default_rng(8)
    rates = batch_rates(np.full(20_000, 0.6), correlation=correlation, rng=rng)
    # the variance of a beta of mean p is p (1 - p) rho
    assert rates.var() == pytest.approx(0.24 * correlation, rel=0.03)


@pytest.mark.parametrize("shape", RootingShape)
def test_half_have_rooted_by_the_median_whatever_the_shape(shape: RootingShape) -> None:
    days = relative_days(Habits(shape=shape), count=40_000, rng=np.random.default_rng(2))
    assert np.median(days) == pytest.approx(1.0, abs=0.02)
    if shape is not RootingShape.TWO_WAVES:
        assert np.log(days).std() == pytest.approx(0.35, abs=0.02)


def test_counting_on_sight_waits_for_roots() -> None:
    log = one_genus(checks=CheckHabit(on_sight=0.1)).histories
    before_end = log.end < Habits().write_off_day
    assert (log.onsets[before_end] >= 0.1 * log.size[log.cluster[before_end]]).all()
    assert len(log.cluster) < 0.6 * len(one_genus().histories.cluster)


def test_counts_left_out_are_fewer() -> None:
    fewer = len(one_genus(checks=CheckHabit(skipped_share=0.5)).histories.cluster)
    assert fewer < 0.7 * len(one_genus().histories.cluster)


def test_cleared_batches_stay_unknown() -> None:
    log = one_genus(cleared_share=0.5).histories
    assert 0.3 < (log.waiting > 0).mean() < 0.6
    assert (log.written_off[log.waiting > 0] == 0).all()


def test_the_two_ways_go_together_as_asked() -> None:
    rng = np.random.default_rng(3)
    strong = deal_out(20_000, confounding=STRONG, people=4, rng=rng)
    favourite = (strong.person == 0) & np.isin(strong.month, (4, 5, 6))
    assert strong.treated[favourite].mean() > 0.75
    assert strong.treated[~favourite].mean() < 0.2
    hard, easy = strong.genus < 2, strong.genus > 5
    assert strong.treated[hard].mean() > 1.5 * strong.treated[easy].mean()
    best = strong.logits[strong.person == 0].mean() - strong.logits[strong.person > 0].mean()
    assert best == pytest.approx(STRONG.person_logit, abs=0.05)
    fair = deal_out(20_000, confounding=RANDOMISED, people=4, rng=rng)
    assert fair.treated.mean() == pytest.approx(0.5, abs=0.02)


def test_work_can_be_dealt_out_unevenly() -> None:
    rng = np.random.default_rng(4)
    work = deal_out(20_000, confounding=RANDOMISED, people=6, rng=rng, unevenly=2.0)
    logits = [work.logits[work.person == person].mean() for person in (1, 5)]
    assert logits[0] - logits[1] > 0.3
    assert np.bincount(work.person).min() > 1_000


def test_finished_counts_have_the_rates_put_in() -> None:
    rates = expit(np.full(5_000, logit(0.7)))
    rooted, stuck = finished_counts(rates, rng=np.random.default_rng(9))
    assert (rooted / stuck).mean() == pytest.approx(0.7, abs=0.01)
    assert stuck.min() >= 4
    assert stuck.max() <= 300
