"""Reading finished and open batches as parallel arrays, for comparing and for standing out."""

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from sqlalchemy import Row, select
from sqlalchemy.orm import Session

from app.domain.comparisons_batches import LoggedBatches
from app.domain.fit_records import type_code
from app.domain.strike_rates_questions import RateQuestion
from app.store.models.batches import Batch, BatchFacts
from app.store.queries.strike_rates_filters import conditions_of

_READ: Final = (
    BatchFacts.batch_id,
    BatchFacts.genus_id,
    BatchFacts.cutting_type,
    BatchFacts.hormone_id,
    BatchFacts.month_stuck,
    BatchFacts.stuck,
    BatchFacts.rooted,
    BatchFacts.unrooted,
    BatchFacts.cleared_unrooted,
    Batch.stuck_by_id,
)


def batches_statement(session: Session, *, question: RateQuestion) -> Any:
    """Return the statement for the batches of a question that names nothing to ask by.

    More columns may be added to it. Rows come in the order of the batches' ids.

    Raises:
        NotAccepted: a filter's value is unknown.
    """
    return (
        select(*_READ)
        .join(Batch, Batch.id == BatchFacts.batch_id)
        .where(*conditions_of(session, question=question))
        .order_by(BatchFacts.batch_id)
    )


def batches_of_rows(rows: Sequence[Row[Any]]) -> LoggedBatches:
    """Return the arrays of rows of `batches_statement`."""
    return LoggedBatches(
        batch_ids=_whole([row.batch_id for row in rows]),
        genus=_whole([row.genus_id for row in rows]),
        cutting_type=_whole([type_code(row.cutting_type) for row in rows]),
        hormone=_whole([row.hormone_id or 0 for row in rows]),
        month=_whole([row.month_stuck for row in rows]),
        person=_whole([row.stuck_by_id or 0 for row in rows]),
        stuck=_whole([row.stuck for row in rows]),
        rooted=_whole([row.rooted for row in rows]),
        unknown=_whole([row.unrooted + row.cleared_unrooted for row in rows]),
    )


def _whole(values: list[int]) -> Any:
    return np.array(values, dtype=np.int64)
