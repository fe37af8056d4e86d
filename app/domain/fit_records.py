"""Batches as the learning of rates and times takes them: parallel arrays, one entry per batch.

Re-stuck and voided batches are left out: what roots at a second try says little of the first.
"""

from dataclasses import dataclass

from app.stats.histories import Histories
from app.stats.trees import Ints


@dataclass(frozen=True, kw_only=True)
class FitRecords:
    """What is known of each batch, in the order of `batch_ids`.

    `genus`, `cutting_type` and `method` are numbers that stand for a value each (a genus's id; a
    place in the list of types; a type and hormone together); `month` is 1 to 12, of sticking.
    """

    batch_ids: Ints
    genus: Ints
    cutting_type: Ints
    method: Ints
    month: Ints
    histories: Histories
