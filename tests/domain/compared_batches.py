"""Batches for comparisons, written as arrays; whatever is not given is alike for all."""

from typing import Any

import numpy as np

from app.domain.comparisons_batches import LoggedBatches

_ZEROS = ("genus", "cutting_type", "hormone", "person", "unknown")


def logged(stuck: Any, rooted: Any, **given: Any) -> LoggedBatches:
    """Return batches with these counts; genus, month, person and so on may be given as lists."""
    number = len(stuck)
    values: dict[str, Any] = {name: np.zeros(number, dtype=np.int64) for name in _ZEROS}
    values |= {"month": np.full(number, 5), "batch_ids": np.arange(1, number + 1)}
    values |= {"stuck": stuck, "rooted": rooted} | given
    return LoggedBatches(
        **{name: np.asarray(value, dtype=np.int64) for name, value in values.items()}
    )
