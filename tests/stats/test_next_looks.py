"""When to look again: the arithmetic of waiting, on cases that can be done by hand."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import beta, betabinom, binom

from app.stats.failure_curves import FailureCurve, failure_nodes
from app.stats.look_rules import LONGEST_GAP
from app.stats.next_looks import Known, Outlook, Sample, outlook, rest_masses
from app.stats.onset_curves import log_not_yet
from app.stats.onset_trees import LOG_MEDIANS
from app.stats.share_grids import Floats, ShareGrid

ONE = np.array([1.0])


def known(*, share: float, median: float, age: float, waiting: float, still: float = 1.0) -> Known:
    return Known(
        waiting=waiting,
        age=age,
        size=waiting,
        share_masses=ONE,
        shares=np.array([share]),
        onset_masses=ONE,
        log_medians=np.array([np.log(median)]),
        scale=0.2,
        still=np.array([still]),
        still_masses=ONE,
    )


def certain(
    *, share: float, median: float, age: float, waiting: float, still: float = 1.0
) -> Outlook:
    return outlook(known(share=share, median=median, age=age, waiting=waiting, still=still))


def test_expected_number_by_hand() -> None:
    # all set in sooner or later, median 28 days: half of 100 by day 28 from day 0
    found = certain(share=0.999999, median=28.0, age=0.0, waiting=100.0)
    assert found.new_by[28] == pytest.approx(50.0, abs=0.01)
    assert found.ever == pytest.approx(100.0, abs=0.01)
    assert found.new_by[0] == 0.0


def test_waiting_ones_are_weighed_by_who_would_still_be_there() -> None:
    # at the median half of the ones that will are left, all of the ones that will not:
    # p = 1/2 gives odds (1/2 x 1/2) : (1/2 x 1), so a third of 60 waiting ones will
    found = certain(share=0.5, median=28.0, age=28.0, waiting=60.0)
    assert found.ever == pytest.approx(20.0, abs=1e-9)


def test_due_when_the_budget_of_item_days_is_used_up() -> None:
    # eight waiting five days: 40
    standing = Outlook(new_by=np.full(121, 8.0), ever=8.0, size=8.0)
    assert standing.due_after(budget=40.0) == 5
    # one more each day: d x d / 2 item-days, 40.5 on the ninth
    growing = Outlook(new_by=np.arange(121.0), ever=121.0, size=121.0)
    assert growing.due_after(budget=40.0) == 9


def test_never_sooner_than_four_days_nor_later_than_twenty_eight() -> None:
    many = Outlook(new_by=np.full(121, 500.0), ever=500.0, size=600.0)
    none = Outlook(new_by=np.zeros(121), ever=0.0, size=30.0)
    assert (many.due_after(), none.due_after()) == (4, LONGEST_GAP)
    assert none.late_after() == LONGEST_GAP + 3


def test_late_is_at_least_three_days_after_due() -> None:
    found = certain(share=0.8, median=20.0, age=0.0, waiting=200.0)
    assert found.late_after() >= found.due_after() + 3
    share = found.new_by[found.late_after()] / found.ever
    assert share >= 0.65 or found.late_after() == LONGEST_GAP + 3


def test_time_to_finish_when_hardly_anything_more_will_come() -> None:
    old = certain(share=0.6, median=20.0, age=84.0, waiting=30.0)
    young = certain(share=0.6, median=20.0, age=14.0, waiting=30.0)
    assert old.time_to_finish()
    assert not young.time_to_finish()


def test_uncertain_speed_is_averaged() -> None:
    masses = np.exp(-0.5 * ((LOG_MEDIANS - np.log(28.0)) / 0.15) ** 2)
    found = outlook(
        Known(
            waiting=50.0,
            age=0.0,
            size=50.0,
            share_masses=np.array([0.5, 0.5]),
            shares=np.array([0.4, 0.8]),
            onset_masses=masses / masses.sum(),
            log_medians=LOG_MEDIANS,
            scale=0.2,
            still=ONE,
            still_masses=ONE,
        )
    )
    assert found.ever == pytest.approx(30.0, abs=1e-6)
    assert found.new_by[28] == pytest.approx(15.0, abs=0.4)
    assert (np.diff(found.new_by) >= 0.0).all()


def test_how_many_more_is_binomial_where_all_is_certain() -> None:
    # scipy.stats.binom as reference; p S_G : (1 - p) S_H is 1/4 : 1/2 here, so a third will
    masses = rest_masses(known(share=0.5, median=28.0, age=28.0, waiting=60.0))
    number = np.arange(61)
    # the chance is one of 200 bins, each under 0.8 points wide
    assert masses == pytest.approx(binom.pmf(number, 60, 1.0 / 3.0), abs=2e-3)
    assert masses @ number == pytest.approx(20.0, abs=0.3)


def test_how_many_more_is_spread_by_what_is_uncertain() -> None:
    # Before anything is seen it is beta-binomial (scipy.stats.betabinom): all will set in that can.
    grid = ShareGrid()
    found = Known(
        waiting=30.0,
        age=0.0,
        size=30.0,
        shares=grid.middles,
        share_masses=np.diff(beta.cdf(grid.edges, 6.0, 2.0)),
        log_medians=np.log(np.array([20.0, 40.0])),
        onset_masses=np.array([0.5, 0.5]),
        scale=0.2,
        still=ONE,
        still_masses=ONE,
    )
    assert rest_masses(found) == pytest.approx(
        betabinom.pmf(np.arange(31), 30, 6.0, 2.0), abs=1.5e-3
    )


def test_a_batch_that_lingers_is_not_taken_for_a_late_one() -> None:
    """30 stuck, day 60: none set in, 4 failed, 26 wait; the usual median is 28 days.

    With a fixed curve of failing 71 % are expected, since 26 survivors "must" be late ones; with
    the failing share free 7 % (0 to 65 %). COMPUTED in the study behind the method.
    """
    grid = ShareGrid()
    medians = np.exp(-0.5 * ((LOG_MEDIANS - np.log(28.0)) / 0.15) ** 2)
    curve = FailureCurve(share=0.9, log_median=float(np.log(25.0)), scale=0.3, clusters=20)
    nodes = failure_nodes(curve)
    left = np.exp(log_not_yet(np.array([60.0]), log_medians=nodes.log_medians, scale=nodes.scale))[
        0
    ]
    weights = np.exp(nodes.log_weights) * nodes.shares**4 * (1.0 - left) ** 4
    shares = np.diff(grid.edges) * (1.0 - grid.middles) ** 4

    def expected(still: Floats, masses: Floats) -> float:
        lingering = Known(
            waiting=26.0,
            age=60.0,
            size=30.0,
            shares=grid.middles,
            share_masses=shares / shares.sum(),
            log_medians=LOG_MEDIANS,
            onset_masses=medians / medians.sum(),
            scale=0.2,
            still=still,
            still_masses=masses,
        )
        return outlook(lingering).ever / 30.0

    assert expected(curve.remaining(np.array([60.0])), ONE) > 0.5
    free = expected(1.0 - nodes.shares * (1.0 - left), weights / weights.sum())
    assert free < 0.2


def _two_speeds(**more: object) -> Known:
    fast_or_slow = known(share=0.9, median=25.0, age=20.0, waiting=3.0)
    two = {"onset_masses": np.array([0.5, 0.5]), "log_medians": np.log([25.0, 60.0])}
    return replace(fast_or_slow, **(two | more))


def test_a_sample_says_how_far_the_waiting_ones_have_come() -> None:
    blank = outlook(_two_speeds())
    many = outlook(_two_speeds(samples=(Sample(age=28.0, looked=10.0, set_in=7.0),)))
    none = outlook(_two_speeds(samples=(Sample(age=28.0, looked=10.0, set_in=0.0),)))
    assert many.new_by[8] > blank.new_by[8] > none.new_by[8]
    assert many.late_after() <= blank.late_after() <= none.late_after()


def test_a_sample_tells_nothing_where_all_is_known() -> None:
    plain = known(share=0.5, median=28.0, age=14.0, waiting=40.0)
    sampled = replace(plain, samples=(Sample(age=21.0, looked=5.0, set_in=5.0),))
    assert outlook(sampled).new_by == pytest.approx(outlook(plain).new_by)


def test_a_sample_weighs_two_speeds_by_their_binomial_odds() -> None:
    # share 1 - 1e-9, so each waiting one sets in by day 28 with chance 1 - S(28)/S(20); the two
    # speeds alike beforehand are weighed by the binomial of 3 of 4 (scipy.stats as reference)
    base = _two_speeds(share_masses=ONE, shares=np.array([1.0 - 1e-9]), waiting=0.0)
    found = outlook(
        replace(base, samples=(Sample(age=28.0, looked=4.0, set_in=3.0),), waiting=1e-9)
    )
    stays = np.exp(log_not_yet(np.array([20.0, 28.0]), log_medians=np.log([25.0, 60.0]), scale=0.2))
    chance = 1.0 - stays[1] / stays[0]
    weight = binom.pmf(3, 4, chance)
    expected = 1e-9 * (weight * chance).sum() / weight.sum()
    assert found.new_by[8] == pytest.approx(expected, rel=1e-3)
