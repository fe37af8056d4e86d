"""Reading every batch's counts at once, as the share of an order takes them."""

from typing import Any

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.cutting_types import OTHER_WAYS
from app.domain.fit_records import type_code
from app.domain.order_rates import PlannedBatches
from app.store.models.batches import Batch, BatchFacts


def read_planned_batches(session: Session) -> PlannedBatches:
    """Return all batches but the voided and the re-stuck ones, in the order of their ids."""
    facts = BatchFacts
    rows = session.execute(
        select(
            facts.batch_id,
            facts.genus_id,
            facts.plant_name_id,
            facts.cutting_type,
            facts.hormone_id,
            facts.month_stuck,
            facts.rooted,
            facts.lost + facts.dumped,
            facts.unrooted + facts.cleared_unrooted,
        )
        .join(Batch, Batch.id == facts.batch_id)
        .where(
            facts.voided == 0,
            Batch.restuck_from_id.is_(None),
            facts.cutting_type.not_in(OTHER_WAYS),
        )
        .order_by(facts.batch_id)
    ).all()
    columns: list[list[Any]] = [list(column) for column in zip(*rows, strict=True)] or [[]] * 9
    ids, genus, plant, kinds, hormones, months, rooted, failed, unknown = columns
    return PlannedBatches(
        batch_ids=_whole(ids),
        genus=_whole(genus),
        plant=_whole(plant),
        cutting_type=_whole([type_code(kind) for kind in kinds]),
        hormone=_whole([hormone or 0 for hormone in hormones]),
        month=_whole(months),
        rooted=np.array(rooted, dtype=np.float64),
        failed=np.array(failed, dtype=np.float64),
        unknown=np.array(unknown, dtype=np.float64),
    )


def _whole(values: list[int]) -> Any:
    return np.array(values, dtype=np.int64)
