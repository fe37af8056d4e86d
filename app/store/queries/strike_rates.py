"""Strike rates by any one or two names, and the batches behind a figure."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session, aliased

from app.domain.strike_rates import ASSUMED_CORRELATION, GroupFacts
from app.domain.strike_rates_answers import RateAnswer, RateGroup, arranged, row_sums, sum_of
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import RateQuestion
from app.store.models.batches import Batch, BatchFacts
from app.store.models.liner_lots import LinerFacts
from app.store.models.plant_names import PlantNameRow
from app.store.queries.strike_rates_filters import conditions_of
from app.store.queries.strike_rates_sums import (
    batches_in,
    facts_of_row,
    speller_of,
    sums_statement,
)

_NEWEST_FIRST: Final = (BatchFacts.stuck_on.desc(), BatchFacts.batch_id.desc())
_parent = aliased(Batch)
_BEHIND: Final = (
    Batch.code,
    PlantNameRow.plain.label("plant"),
    BatchFacts.stuck_on,
    BatchFacts.stuck,
    BatchFacts.rooted,
    BatchFacts.lost,
    BatchFacts.dumped,
    BatchFacts.cleared_unrooted,
    BatchFacts.unrooted,
    BatchFacts.counted_on,
    func.coalesce(_parent.code, "").label("restuck_from"),
    func.coalesce(LinerFacts.ready, 0).label("ready"),
    func.coalesce(LinerFacts.lost, 0).label("lost_later"),
    BatchFacts.cutting_type,
)


@dataclass(frozen=True, kw_only=True)
class BatchBehind:
    """One batch behind a figure: what was stuck when, and what became of it.

    `restuck_from` is the code of the batch its cuttings stood in before, "" for first stickings.
    Of those rooted, `ready` became plants that were ready and `lost_later` were lost before.
    """

    code: str
    plant: str
    stuck_on: date
    stuck: int
    rooted: int
    lost: int
    dumped: int
    cleared_unrooted: int
    unrooted: int
    counted_on: date | None
    restuck_from: str = ""
    cutting_type: str = ""
    ready: int = 0
    lost_later: int = 0

    @property
    def growing(self) -> int:
        """How many rooted ones are neither ready nor lost."""
        return self.rooted - self.ready - self.lost_later


def get_rate_answer(
    session: Session, *, question: RateQuestion, correlation: float = ASSUMED_CORRELATION
) -> RateAnswer:
    """Return the groups that have batches, with their sums, in one pass over the summary.

    `correlation` is that of two cuttings of one batch, 0 to 1.

    Raises:
        NotAccepted: a filter's value is unknown.
    """
    groups = _list_groups(session, question=question, correlation=correlation)
    if RateKey.STOCK_PLANT in question.by:
        # A batch with two sources stands in two groups, so sums over groups would count it twice.
        first = replace(question, by=question.by[:1])
        rows = _list_groups(session, question=first, correlation=correlation)
        total = get_group_facts(session, question=question, correlation=correlation)
        return RateAnswer(question=question, groups=groups, rows=rows, total=total)
    return RateAnswer(question=question, groups=groups, rows=row_sums(groups), total=sum_of(groups))


def get_group_facts(
    session: Session, *, question: RateQuestion, correlation: float = ASSUMED_CORRELATION
) -> GroupFacts:
    """Return the facts of all batches that answer to the question's filters, as one group.

    Raises:
        NotAccepted: a filter's value is unknown.
    """
    whole = replace(question, by=())
    return sum_of(_list_groups(session, question=whole, correlation=correlation))


def list_batches_behind(
    session: Session, *, question: RateQuestion, limit: int, skip: int = 0
) -> tuple[BatchBehind, ...]:
    """Return the batches that answer to the question's filters, newest sticking first.

    At most `limit` of them, after leaving out the first `skip`.

    Raises:
        NotAccepted: a filter's value is unknown.
    """
    whole = replace(question, by=())
    behind = (
        select(BatchFacts.batch_id)
        .select_from(batches_in(whole))
        .where(*conditions_of(session, question=whole))
        .order_by(*_NEWEST_FIRST)
        .limit(limit)
        .offset(skip)
        .subquery("behind")
    )
    rows = session.execute(
        select(*_BEHIND)
        .select_from(behind)
        .join(BatchFacts, BatchFacts.batch_id == behind.c.batch_id)
        .join(Batch, Batch.id == BatchFacts.batch_id)
        .join(PlantNameRow, PlantNameRow.id == BatchFacts.plant_name_id)
        .outerjoin(LinerFacts, LinerFacts.batch_id == BatchFacts.batch_id)
        .outerjoin(_parent, _parent.id == Batch.restuck_from_id)
        .order_by(*_NEWEST_FIRST)
    )
    return tuple(BatchBehind(**row._mapping) for row in rows)


def _list_groups(
    session: Session, *, question: RateQuestion, correlation: float
) -> tuple[RateGroup, ...]:
    conditions = conditions_of(session, question=question)
    statement = sums_statement(question, conditions=conditions, correlation=correlation)
    spell = speller_of(question)
    return arranged(
        (
            RateGroup(values=spell(row), facts=facts_of_row(row, of=question.of))
            for row in session.execute(statement)
        ),
        question=question,
    )
