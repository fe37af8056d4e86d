"""Cuttings an hour: own arithmetic; the tenths against numpy's quantile (linear)."""

import numpy as np
import pytest

from app.domain.cutting_types import CuttingType
from app.domain.work_speeds import Step, WorkDone, labour_words, speed_lines, speed_of


def done(cuttings: int, hours: float, step: Step = Step.STUCK, **more: object) -> WorkDone:
    values = {"cutting_type": CuttingType.SOFTWOOD} | more
    return WorkDone(step=step, cuttings=cuttings, hours=hours, **values)  # type: ignore[arg-type]


def test_all_cuttings_over_all_hours_with_the_range_of_the_batches() -> None:
    speed = speed_of([done(100, 1), done(100, 4)])
    assert speed is not None
    # Not 62.5, the mean of 100 and 25: the long batch counts as long.
    assert (speed.per_hour, speed.low, speed.high) == (40, 25, 100)
    assert (speed.batches, speed.is_few) == (2, True)
    assert speed_of([]) is None


def test_from_ten_batches_on_the_tenths_are_left_out() -> None:
    each = [20, 90, 95, 100, 100, 105, 110, 120, 130, 400, 150]
    speed = speed_of([done(number, 1) for number in each])
    assert speed is not None
    expected = np.quantile(each, [0.1, 0.9])
    assert [speed.low, speed.high] == pytest.approx(list(expected))
    assert not speed.is_few


def test_types_stand_in_their_order_with_each_step() -> None:
    lines = speed_lines(
        [
            done(10, 1, cutting_type=None),
            done(50, 1, Step.MADE, cutting_type=CuttingType.HARDWOOD),
            done(80, 1),
        ]
    )
    assert [line.words for line in lines] == ["softwood", "hardwood", "type not recorded"]
    assert [speed and speed.per_hour for speed in lines[1].speeds] == [None, 50, None]


def test_a_week_of_sticking_is_told_once_enough_is_known() -> None:
    assert labour_words(None) == ""
    assert labour_words(speed_of([done(100, 1)] * 4)) == ""
    assert labour_words(speed_of([done(100, 1)] * 4 + [done(150, 1)])) == (
        "By the 5 batches with hours, sticking goes at 110 cuttings an hour (100 to 150): about "
        "4,400 in 40 hours of it."
    )
