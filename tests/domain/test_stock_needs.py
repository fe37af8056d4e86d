"""Stock plants and flushes.

The numbers of 906 cuttings were computed in a study made for this program; 836 cuttings at 12 from
a plant in each of 2 flushes are own arithmetic. No published worked example was found.
"""

from dataclasses import replace

import numpy as np
import pytest

from app.domain.stock_needs import (
    StockYield,
    YieldRestsOn,
    flushes_in,
    stock_need,
)

GIVEN = StockYield(plants=40, fit=30, cuts=(), expected=None, rest_weeks=4)


def with_eight() -> StockYield:
    return replace(GIVEN, cuts=(8.0,) * 10)


@pytest.mark.parametrize(("weeks", "flushes", "plants"), [(3, 1, 114), (9, 3, 38), (5, 2, 57)])
def test_a_longer_window_takes_fewer_plants(weeks: int, flushes: int, plants: int) -> None:
    need = stock_need(906, given=with_eight(), window_weeks=weeks)
    assert need is not None
    assert (need.flushes, need.plants) == (flushes, plants)


def test_two_flushes_of_twelve() -> None:
    given = replace(GIVEN, cuts=(12.0,) * 10)
    need = stock_need(836, given=given, window_weeks=5)
    assert need is not None
    assert (need.flushes, need.plants) == (2, 35)


def test_a_whole_number_of_plants_is_not_rounded_up_again() -> None:
    need = stock_need(24, given=with_eight(), window_weeks=3)
    assert need is not None
    assert need.plants == 3


def test_four_cuts_in_five_reach_the_number_counted_with() -> None:
    cuts = (3.0, 14.0, 9.0, 8.0, 12.0, 11.0, 7.0, 10.0, 9.5, 13.0, 6.0)
    need = stock_need(100, given=replace(GIVEN, cuts=cuts), window_weeks=1)
    assert need is not None
    assert need.per_plant == pytest.approx(float(np.quantile(cuts, 0.2)))
    assert (need.rests_on, need.records) == (YieldRestsOn.RECORDS, 11)


def test_few_records_and_none_are_taken_with_caution() -> None:
    few = stock_need(80, given=replace(GIVEN, cuts=(10.0, 10.0)), window_weeks=1)
    expected = stock_need(80, given=replace(GIVEN, expected=5.0), window_weeks=1)
    assert few is not None and expected is not None
    assert (few.per_plant, few.plants, few.rests_on) == (8.0, 10, YieldRestsOn.FEW_RECORDS)
    assert (expected.per_plant, expected.rests_on) == (4.0, YieldRestsOn.EXPECTED)
    assert stock_need(80, given=GIVEN, window_weeks=1) is None


def test_a_plant_without_a_rest_recorded_is_cut_once() -> None:
    assert [flushes_in(30, rest_weeks=rest) for rest in (None, 0, 40)] == [1, 1, 1]
    assert flushes_in(0, rest_weeks=4) == 1
