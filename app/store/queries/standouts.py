"""The batches between two days and the people, benches, mixes or stock plants they belong to."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from sqlalchemy import Row, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from app.domain.comparisons_batches import LoggedBatches
from app.domain.standouts import LabelledBatches
from app.domain.standouts_questions import StandoutBy, StandoutQuestion
from app.store.models.batches import Batch, BatchFacts, BatchSource
from app.store.models.benches import Bench
from app.store.models.mixes import Mix, MixLot
from app.store.models.people import Person
from app.store.models.stock_plants import StockPlant
from app.store.queries.logged_batches import batches_of_rows, batches_statement
from app.store.queries.strike_rates_filters import conditions_of

_COLUMNS: Final[dict[StandoutBy, InstrumentedAttribute[Any]]] = {
    StandoutBy.PERSON: Batch.stuck_by_id,
    StandoutBy.BENCH: Batch.bench_id,
    StandoutBy.MIX: BatchFacts.mix_id,
    StandoutBy.MIX_LOT: Batch.mix_lot_id,
}
_NAMES: Final[dict[StandoutBy, tuple[InstrumentedAttribute[int], InstrumentedAttribute[str]]]] = {
    StandoutBy.PERSON: (Person.id, Person.name),
    StandoutBy.BENCH: (Bench.id, Bench.name),
    StandoutBy.MIX: (Mix.id, Mix.name),
    StandoutBy.MIX_LOT: (MixLot.id, MixLot.code),
    StandoutBy.STOCK_PLANT: (StockPlant.id, StockPlant.code),
}


@dataclass(frozen=True, kw_only=True)
class StandoutRecords:
    """All batches, which label each carries, and what the labels are called."""

    batches: LoggedBatches
    labelled: LabelledBatches
    names: Mapping[int, str]


def read_standouts(session: Session, *, question: StandoutQuestion) -> StandoutRecords:
    """Return the batches of the question; those without a label help to say what is expected."""
    statement = batches_statement(session, question=question.asked)
    column = _COLUMNS.get(question.by)
    if column is not None:
        statement = statement.add_columns(column.label("label"))
    rows = session.execute(statement).all()
    batches = batches_of_rows(rows)
    labelled = (
        _sources(session, question=question, batches=batches) if column is None else _labels(rows)
    )
    return StandoutRecords(
        batches=batches, labelled=labelled, names=_names(session, question.by, labelled)
    )


def _labels(rows: Sequence[Row[Any]]) -> LabelledBatches:
    found = [(place, row.label) for place, row in enumerate(rows) if row.label is not None]
    return _pairs(found)


def _sources(
    session: Session, *, question: StandoutQuestion, batches: LoggedBatches
) -> LabelledBatches:
    rows = session.execute(
        select(BatchSource.batch_id, BatchSource.stock_plant_id)
        .distinct()
        .join(BatchFacts, BatchFacts.batch_id == BatchSource.batch_id)
        .join(Batch, Batch.id == BatchSource.batch_id)
        .where(BatchSource.stock_plant_id.is_not(None))
        .where(*conditions_of(session, question=question.asked))
        .order_by(BatchSource.batch_id, BatchSource.stock_plant_id)
    ).all()
    places = {int(number): place for place, number in enumerate(batches.batch_ids)}
    return _pairs([(places[row.batch_id], row.stock_plant_id) for row in rows])


def _pairs(found: list[tuple[int, int]]) -> LabelledBatches:
    both = np.array(found, dtype=np.int64).reshape(-1, 2)
    return LabelledBatches(rows=both[:, 0], labels=both[:, 1])


def _names(session: Session, by: StandoutBy, labelled: LabelledBatches) -> Mapping[int, str]:
    number, label = _NAMES[by]
    wanted = [int(value) for value in np.unique(labelled.labels)]
    rows = session.execute(select(number, label).where(number.in_(wanted))).all()
    return {row[0]: row[1] for row in rows}
