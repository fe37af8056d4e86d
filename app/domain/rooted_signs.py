"""What counts as rooted at a check, one usual sign for each cutting type."""

from enum import StrEnum

from app.domain.cutting_types import CuttingType


class RootedSign(StrEnum):
    """The sign by which a cutting was called rooted."""

    ROOTS_SEEN = "roots seen"
    HOLDS = "holds to a tug"
    PLUG_LIFTS = "plug lifts whole"
    ALIVE = "alive"
    TAKEN = "graft has taken"


def usual_sign(cutting_type: CuttingType | None, *, plug: bool = False) -> RootedSign:
    """Return the sign a type is judged by unless another is chosen.

    Leafy cuttings are tugged, or their plug lifted where they stand one to a plug; bare wood,
    scales and pieces of root are looked at; divisions and grafts only have to live or take
    (common practice, no source).
    """
    if cutting_type is CuttingType.DIVISION:
        return RootedSign.ALIVE
    if cutting_type is CuttingType.GRAFT:
        return RootedSign.TAKEN
    if cutting_type in _BARE:
        return RootedSign.ROOTS_SEEN
    return RootedSign.PLUG_LIFTS if plug else RootedSign.HOLDS


_BARE = frozenset({CuttingType.HARDWOOD, CuttingType.SCALE, CuttingType.ROOT})
