"""The batches of some levels of a factor, in one pass, for comparing them."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from sqlalchemy import ColumnElement, and_, case, or_, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from app.domain.comparisons_batches import ComparisonRecords
from app.domain.comparisons_questions import ComparisonQuestion
from app.domain.problems import NotAccepted, Problem
from app.domain.strike_rates_questions import RateQuestion
from app.stats.trees import Ints
from app.store.models.genera import Genus
from app.store.models.hormones import HormoneRow
from app.store.models.people import Person
from app.store.queries.logged_batches import batches_of_rows, batches_statement
from app.store.queries.strike_rates_filters import conditions_of


def read_comparison(
    session: Session, *, question: ComparisonQuestion, further: Sequence[str] = ()
) -> ComparisonRecords:
    """Return the batches of the question's two levels and of `further` ones, in that order.

    Raises:
        NotAccepted: a level or the value of a filter is unknown; the problem's field is "one" or
            "other" for a level, else the name of the filter.
    """
    levels = [
        _is_of(session, question, level, field=field)
        for level, field in (
            (question.one, "one"),
            (question.other, "other"),
            *((level, "one") for level in further),
        )
    ]
    statement = (
        batches_statement(session, question=question.asked)
        .where(or_(*levels))
        .add_columns(*(_flag(level, place) for place, level in enumerate(levels)))
    )
    rows = session.execute(statement).all()
    batches = batches_of_rows(rows)
    flags = [[row._mapping[_name(place)] for row in rows] for place in range(len(levels))]
    return ComparisonRecords(
        batches=batches,
        members=np.array(flags, dtype=bool).reshape(len(levels), len(rows)),
        genera=_names(session, Genus.id, Genus.name, wanted=batches.genus),
        people=_names(session, Person.id, Person.name, wanted=batches.person),
        hormones=_names(session, HormoneRow.id, HormoneRow.label, wanted=batches.hormone),
    )


def _is_of(
    session: Session, question: ComparisonQuestion, level: str, *, field: str
) -> ColumnElement[bool]:
    try:
        side = RateQuestion(where=question.level_filters(level), day_of=question.asked.day_of)
        return and_(*conditions_of(session, question=side))
    except NotAccepted as refusal:
        sentences = (problem.sentence for problem in refusal.problems)
        raise NotAccepted(
            tuple(Problem(field=field, sentence=sentence) for sentence in sentences)
        ) from None


def _flag(level: ColumnElement[bool], place: int) -> ColumnElement[int]:
    return case((level, 1), else_=0).label(_name(place))


def _name(place: int) -> str:
    return f"level_{place}"


def _names(
    session: Session,
    number: InstrumentedAttribute[int],
    label: InstrumentedAttribute[str],
    *,
    wanted: Ints,
) -> Mapping[int, str]:
    ids = [int(value) for value in np.unique(wanted)]
    rows: Sequence[Any] = session.execute(select(number, label).where(number.in_(ids))).all()
    return {row[0]: row[1] for row in rows}
