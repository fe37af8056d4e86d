"""Places of the funnel: limits narrow with what is known, dots stand where their numbers say."""

import re

from app.web.funnel_pictures import FunnelLabel, funnel_picture

LABELS = [
    FunnelLabel(known=50.0, difference=0.04),
    FunnelLabel(known=200.0, difference=-0.12, name="Bench 7"),
]


def places(path: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", path)]


def test_no_label_no_picture() -> None:
    assert funnel_picture([], scatter=0.2) is None


def test_more_known_stands_further_along_and_worse_further_down() -> None:
    found = funnel_picture(LABELS, scatter=0.2)
    assert found is not None
    few, many = found.dots
    assert few.x < many.x
    assert few.y < many.y
    assert (few.diamond, bool(many.diamond)) == ("", True)
    assert [word.text for word in found.words if word.text == "Bench 7"] == ["Bench 7"]


def test_limits_are_two_and_three_standard_errors() -> None:
    found = funnel_picture(LABELS, scatter=0.2)
    assert found is not None
    middle = float(re.findall(r"M52 ([\d.]+)H", found.axes)[0])
    inner, outer = places(found.inner)[-1], places(found.outer)[-1]
    # At the right edge both lower limits stand at the same place along, one half further down.
    assert inner[0] == outer[0]
    assert abs((outer[1] - middle) / (inner[1] - middle) - 1.5) < 0.01


def test_everything_stays_inside() -> None:
    wild = [
        FunnelLabel(known=3.0, difference=-0.9, name="x"),
        FunnelLabel(known=900.0, difference=0.0),
    ]
    found = funnel_picture(wild, scatter=0.25)
    assert found is not None
    for path in (found.inner, found.outer):
        assert all(0 <= x <= found.width and 0 <= y <= found.height for x, y in places(path))
    assert all(0 <= dot.y <= found.height for dot in found.dots)
