"""The ways of taking a cutting: its type, where it is cut, and from which part of the shoot."""

from enum import StrEnum


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
