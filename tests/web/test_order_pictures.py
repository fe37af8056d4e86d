"""The picture of chance against number stuck."""

import re

from app.web.order_pictures import FLOOR, LEFT, RIGHT, TOP, chance_picture

POINTS = [(100, 0.0), (150, 0.5), (200, 1.0)]


def test_the_curve_goes_from_corner_to_corner() -> None:
    found = chance_picture(POINTS, sure=0.9, plan=190, naive=140)
    assert found is not None
    assert (
        found.curve == f"M{LEFT} {FLOOR}L{(LEFT + RIGHT) / 2:g} {(TOP + FLOOR) / 2:g}L{RIGHT} {TOP}"
    )
    height = float(re.findall(r"M\d+ ([\d.]+)H", found.wanted)[0])
    assert height == round(FLOOR - 0.9 * (FLOOR - TOP), 1)
    assert [word.text for word in found.words if "%" in word.text] == ["0 %", "50 %", "100 %"]


def test_plan_and_naive_sum_are_marked_where_they_lie() -> None:
    found = chance_picture(POINTS, sure=0.9, plan=190, naive=140)
    assert found is not None
    x = {
        kind: float(re.findall(r"M([\d.]+) ", path)[0])
        for kind, path in (("plan", found.plan), ("naive", found.naive))
    }
    assert LEFT < x["naive"] < x["plan"] < RIGHT
    named = {word.text: word for word in found.words}
    # Near the edge the words turn inwards; elsewhere they stand away from each other.
    assert named["this plan"].anchor == "end"
    assert named["naive sum"].anchor == "end"
    apart = chance_picture(POINTS, sure=0.9, plan=165, naive=105)
    assert apart is not None
    sides = {word.text: word.anchor for word in apart.words}
    assert (sides["naive sum"], sides["this plan"]) == ("start", "start")


def test_what_lies_outside_is_not_drawn() -> None:
    found = chance_picture(POINTS, sure=0.9, plan=None, naive=900)
    assert found is not None
    assert (found.plan, found.naive) == ("", "")
    assert chance_picture(POINTS[:1], sure=0.9, plan=None, naive=None) is None


def test_ticks_are_few_and_round() -> None:
    found = chance_picture([(735, 0.4), (1_417, 0.97)], sure=0.9, plan=None, naive=None)
    assert found is not None
    ticks = [word.text for word in found.words if word.y == FLOOR + 21]
    assert ticks == ["800", "1,000", "1,200", "1,400"]
