"""The picture of a time to root: curve, band and boxes where the numbers say."""

import re

import numpy as np
import pytest

from app.domain.rooting_times import RootingCurve
from app.stats.step_estimates import StepEstimate, step_estimate
from app.web.rooting_pictures import FLOOR, LEFT, RIGHT, TOP, WIDTH, rooting_picture


def curve(last: int = 50) -> RootingCurve:
    days = np.arange(1.0, last + 1.0)
    shares = days / last
    return RootingCurve(
        days=days, shares=shares, low_shares=0.9 * shares, high_shares=np.minimum(1.1 * shares, 1.0)
    )


def steps(*rows: tuple[float, float, float]) -> StepEstimate:
    starts, ends, counts = (np.array(column, dtype=float) for column in zip(*rows, strict=True))
    return step_estimate(starts, ends=ends, counts=counts)


def places(path: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"([0-9.]+) ([0-9.]+)", path)]


def test_the_curve_goes_from_nothing_to_all() -> None:
    found = places(rooting_picture(curve(), steps=steps((10, 20, 1))).curve)
    assert found[0] == (LEFT, FLOOR)
    assert found[-1] == (RIGHT, TOP)
    # half of them on day 25 of 50
    middle = ((LEFT + RIGHT) / 2, (FLOOR + TOP) / 2)
    assert min(abs(x - middle[0]) + abs(y - middle[1]) for x, y in found) < 0.2


def test_the_band_lies_round_it() -> None:
    picture = rooting_picture(curve(), steps=steps((10, 20, 1)))
    band = places(picture.band)
    line = places(picture.curve)
    upper, lower = band[: len(line)], band[len(line) :][::-1]
    assert all(
        high[1] <= here[1] <= low[1] for high, here, low in zip(upper, line, lower, strict=True)
    )
    assert picture.band.endswith("Z")


def test_boxes_climb_by_the_masses_of_the_counts() -> None:
    # twelve rooted in (10, 20], six in (25, 30]: two thirds, then the rest
    first, second = rooting_picture(curve(), steps=steps((10, 20, 12), (25, 30, 6))).boxes
    whole = FLOOR - TOP
    across = (RIGHT - LEFT) / 50
    assert (first.x, first.width) == pytest.approx((LEFT + 10 * across, 10 * across), abs=0.1)
    assert (first.y + first.height, first.height) == pytest.approx((FLOOR, whole * 2 / 3), abs=0.1)
    assert (second.y, second.height) == pytest.approx((TOP, whole / 3), abs=0.1)


def test_stragglers_far_out_do_not_squeeze_the_curve() -> None:
    picture = rooting_picture(curve(), steps=steps((10, 20, 30), (300, 310, 1)))
    assert len(picture.boxes) == 1
    assert places(picture.curve)[-1][0] >= LEFT + (RIGHT - LEFT) / 1.61


def test_nothing_counted_leaves_the_curve_alone() -> None:
    nothing = step_estimate(np.zeros(0), ends=np.zeros(0), counts=np.zeros(0))
    picture = rooting_picture(curve(), steps=nothing)
    assert picture.boxes == ()
    assert picture.curve


@pytest.mark.parametrize("last", [8, 30, 63, 200, 700])
def test_axes_have_a_few_whole_numbers_inside_the_picture(last: int) -> None:
    words = rooting_picture(curve(last), steps=steps((1, 5, 3))).words
    days = [int(word.text) for word in words if word.text.isdecimal()]
    assert days[0] == 0
    assert 2 <= len(days) <= 10
    assert all(day % 7 == 0 for day in days)
    assert all(0 <= word.x <= WIDTH for word in words)
    assert [word.text for word in words if "%" in word.text] == ["0 %", "50 %", "100 %"]
