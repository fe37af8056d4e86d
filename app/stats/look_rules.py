"""The numbers by which the next look at a cluster is chosen, apart from the arithmetic.

They stand by themselves so that a list of what is due can be written without loading numpy. All
are assumptions without a source.
"""

from typing import Final

# Items set in and not yet seen may stand so many item-days together: eight standing five days.
BUDGET: Final = 40.0
SHORTEST_GAP: Final = 4
LONGEST_GAP: Final = 28
LATE_AFTER: Final = 3
LATE_SHARE: Final = 0.65
FINISH_ITEMS: Final = 0.5
FINISH_SHARE: Final = 0.02
