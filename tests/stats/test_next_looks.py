"""When to look again: the arithmetic of waiting, on cases that can be done by hand."""

import numpy as np
import pytest

from app.stats.next_looks import LONGEST_GAP, Outlook, outlook
from app.stats.onset_trees import LOG_MEDIANS


def certain(
    *, share: float, median: float, age: float, waiting: float, still: float = 1.0
) -> Outlook:
    return outlook(
        waiting=waiting,
        age=age,
        size=waiting,
        share_masses=np.array([1.0]),
        shares=np.array([share]),
        onset_masses=np.array([1.0]),
        log_medians=np.array([np.log(median)]),
        scale=0.2,
        still=still,
    )


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
    steps = Outlook(new_by=np.array([0.0, *[8.0] * 120]), ever=8.0, size=8.0)
    # eight waiting five days: 40
    assert steps.due_after(budget=40.0) == 5


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
        waiting=50.0,
        age=0.0,
        size=50.0,
        share_masses=np.array([0.5, 0.5]),
        shares=np.array([0.4, 0.8]),
        onset_masses=masses / masses.sum(),
        log_medians=LOG_MEDIANS,
        scale=0.2,
        still=1.0,
    )
    assert found.ever == pytest.approx(30.0, abs=1e-6)
    assert found.new_by[28] == pytest.approx(15.0, abs=0.4)
    assert (np.diff(found.new_by) >= 0.0).all()
