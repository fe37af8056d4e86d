"""The ways of taking a cutting: its type, where it is cut, and from which part of the shoot."""

from enum import StrEnum
from typing import Final


class CuttingType(StrEnum):
    """What kind of material is stuck. Division and graft count success as alive or taken."""

    SOFTWOOD = "softwood"
    GREENWOOD = "greenwood"
    SEMI_RIPE = "semi-ripe"
    RIPEWOOD = "ripewood"
    HARDWOOD = "hardwood"
    LEAF_BUD = "leaf-bud"
    LEAF = "leaf"
    SCALE = "scale"
    ROOT = "root"
    DIVISION = "division"
    GRAFT = "graft"


OTHER_WAYS: Final = frozenset({CuttingType.DIVISION, CuttingType.GRAFT})
"""The types that are no cuttings: their success is to live or to take."""
PIECES: Final = frozenset({CuttingType.LEAF, CuttingType.SCALE, CuttingType.ROOT})
"""The types whose pieces can each give several plantlets."""


def is_cutting(cutting_type: CuttingType | str | None) -> bool:
    """Return whether a batch of this type is one of cuttings; a type not recorded is."""
    return cutting_type not in OTHER_WAYS


class Cut(StrEnum):
    """Where the base of the cutting is cut."""

    NODAL = "nodal"
    INTERNODAL = "internodal"
    HEEL = "heel"
    MALLET = "mallet"


class Section(StrEnum):
    """Which part of the shoot the cutting is."""

    TIP = "tip"
    STEM = "stem"
    BASAL = "basal"
