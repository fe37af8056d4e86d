"""What containers hold by their inner measures, and how much medium fills them."""

from enum import StrEnum
from math import ceil, floor, pi

_SLACK = 1e-9
_ML_PER_M3 = 1_000_000


class Shape(StrEnum):
    """The shape of a container. A cylinder or a box has a base as wide as its top."""

    ROUND = "round"
    SQUARE = "square"
    BOX = "box"


def tapered_ml(top_cm: float, *, base_cm: float, height_cm: float, shape: Shape) -> float:
    """Return the ml of a round or square pot from its inner widths and the height of the fill.

    A truncated cone or pyramid, not the mean of the two widths, which falls short.
    """
    squares = top_cm * top_cm + top_cm * base_cm + base_cm * base_cm
    return height_cm * squares / 3 * (pi / 4 if shape is Shape.ROUND else 1)


def width_at(fill_cm: float, *, top_cm: float, base_cm: float, height_cm: float) -> float:
    """Return the inner width in cm at a height of fill above the base."""
    return base_cm + (top_cm - base_cm) * fill_cm / height_cm


def containers_per_m3(volume_ml: float, *, potting_share: float = 1.0) -> int:
    """Return how many containers a cubic metre of loose medium fills, whole ones only.

    `potting_share` is the potting reference: of 100 l of medium, how many are left in the pots.
    """
    return floor(_ML_PER_M3 * potting_share / volume_ml + _SLACK)


def loose_litres(container_litres: float, *, potting_share: float) -> float:
    """Return the litres of loose medium that fill containers of so many litres."""
    return container_litres / potting_share


def potting_share_of(density_share: float) -> float:
    """Return the potting reference of a medium that stands so much denser in the pot."""
    return 1 / density_share


def whole_bags(litres: float, *, bag_litres: float) -> int:
    """Return how many whole bags hold so many litres."""
    return ceil(litres / bag_litres - _SLACK)


def bulk_litres(mass_kg: float, *, density_g_l: float) -> float:
    """Return the litres of a mass of medium by its bulk density in g per litre."""
    return mass_kg * 1000 / density_g_l
