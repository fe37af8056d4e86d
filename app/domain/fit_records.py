"""Batches as the learning of rates and times takes them: parallel arrays, one entry per batch.

Re-stuck and voided batches are left out: what roots at a second try says little of the first.
"""

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final

from app.domain.cutting_types import CuttingType

if TYPE_CHECKING:
    from app.stats.histories import Histories
    from app.stats.trees import Ints

# So many must be finished before it is known how cuttings that never root go: below that,
# simulation shows lingering ones taken for late ones.
FEWEST_FINISHED: Final = 12

_TYPES: Final = {kind.value: place for place, kind in enumerate(CuttingType, start=1)}


def type_code(cutting_type: str) -> int:
    """Return the number that stands for a cutting type in a fit; 0 for not recorded."""
    return _TYPES.get(cutting_type, 0)


def type_of_code(code: int) -> str:
    """Return the cutting type that a number of a fit stands for; "" for not recorded."""
    return next((kind for kind, place in _TYPES.items() if place == code), "")


@dataclass(frozen=True, kw_only=True)
class FitRecords:
    """What is known of each batch, in the order of `batch_ids`.

    `genus`, `cutting_type` and `method` are numbers that stand for a value each (a genus's id; a
    place in the list of types; a type and hormone together); `month` is 1 to 12, of sticking.
    """

    batch_ids: "Ints"
    genus: "Ints"
    cutting_type: "Ints"
    method: "Ints"
    month: "Ints"
    histories: "Histories"


@dataclass(frozen=True, kw_only=True)
class BatchToForecast:
    """The batch as the forecast needs it; `cutting_type` is the fit's number of the type."""

    batch_id: int
    genus: int
    cutting_type: int
    stuck_on: date
    stuck: int
