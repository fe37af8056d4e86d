"""Container volumes by exact geometry: truncated cones and pyramids, with tolerance 1e-6 l."""

from math import pi

import pytest

from app.domain.container_volumes import (
    Shape,
    containers_per_m3,
    loose_litres,
    potting_share_of,
    tapered_ml,
    whole_bags,
    width_at,
)


@pytest.mark.parametrize(
    ("shape", "top", "base", "height", "litres"),
    [
        (Shape.ROUND, 9.0, 6.5, 8.0, 0.380656),
        (Shape.ROUND, 13.0, 9.5, 11.5, 1.152343),
        (Shape.ROUND, 17.0, 12.0, 15.0, 2.501493),
        (Shape.ROUND, 10, 10, 10, pi / 4),
        (Shape.ROUND, 5, 0, 10, 0.065450),
        (Shape.SQUARE, 9.0, 6.5, 9.0, 0.545250),
        (Shape.SQUARE, 7.0, 5.0, 8.0, 0.290667),
        (Shape.SQUARE, 10, 10, 10, 1.0),
    ],
)
def test_volumes(shape: Shape, top: float, base: float, height: float, litres: float) -> None:
    found = tapered_ml(top, base_cm=base, height_cm=height, shape=shape) / 1000
    assert found == pytest.approx(litres, abs=1e-6)


def test_a_pot_filled_only_so_far() -> None:
    width = width_at(7, top_cm=9, base_cm=6.5, height_cm=8)
    assert width == pytest.approx(8.6875)
    found = tapered_ml(width, base_cm=6.5, height_cm=7, shape=Shape.ROUND) / 1000
    assert found == pytest.approx(0.319222, abs=1e-6)


def test_how_many_a_cubic_metre_fills() -> None:
    assert containers_per_m3(380.656) == 2627
    assert containers_per_m3(545.250) == 1834
    assert containers_per_m3(380.656, potting_share=0.8) == 2101
    assert containers_per_m3(1000) == 1000


# Verhagen, ISHS Acta Horticulturae 1168, article 14 (CONFIRMED): density in a pot of 105 to 155 %
# of the loose one; a potting reference of 80 % means that 100 l fill 80 l of pots.
def test_the_potting_reference() -> None:
    assert loose_litres(800, potting_share=0.8) == pytest.approx(1000)
    assert potting_share_of(1.05) == pytest.approx(0.9524, abs=5e-5)
    assert potting_share_of(1.55) == pytest.approx(0.6452, abs=5e-5)


def test_bags_are_whole() -> None:
    assert [whole_bags(litres, bag_litres=50) for litres in (0.1, 50, 50.1, 333.3)] == [1, 1, 2, 7]
    assert whole_bags(0.1 * 3, bag_litres=0.1) == 3
