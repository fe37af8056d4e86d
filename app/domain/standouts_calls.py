"""When something is pointed at, and in which words."""

from enum import StrEnum
from typing import Final

_NEEDS_A_LOOK: Final = 0.9
_LOOK_CLOSER: Final = 0.8


class Call(StrEnum):
    """What is said of a label; nothing of most."""

    NEEDS_A_LOOK = "needs a look"
    LOOK_CLOSER = "look closer"
    NOTHING = ""


def call_of(worse: float) -> Call:
    """Return what is said at a chance (0 to 1) of being more than five points below the rest."""
    if worse > _NEEDS_A_LOOK:
        return Call.NEEDS_A_LOOK
    return Call.LOOK_CLOSER if worse > _LOOK_CLOSER else Call.NOTHING
