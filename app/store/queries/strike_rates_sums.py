"""The sums of groups of batches, as one pass of SQL over their narrow summary."""

from typing import Any, Final

from sqlalchemy import (
    ColumnElement,
    FromClause,
    Row,
    Select,
    Subquery,
    case,
    func,
    literal,
    select,
)
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.compiler import SQLCompiler
from sqlalchemy.sql.functions import FunctionElement
from sqlalchemy.types import Integer

from app.domain.strike_rates import LANDMARK_DAYS, NO_FACTS, GroupFacts, Tally
from app.domain.strike_rates_questions import DayOf, RateQuestion
from app.store.models.batches import Batch, BatchFacts
from app.store.queries.strike_rates_filters import Condition
from app.store.queries.strike_rates_names import SOURCES, NameSource, source_of

_COUNTS: Final = ("stuck", "rooted", "lost", "dumped", "cleared_unrooted", "unrooted")
_FINISHED: Final = "finished_"


class days_between(FunctionElement[int]):  # noqa: N801 - it reads as a function of SQL
    """Whole days from the first date to the second, on whichever database."""

    type = Integer()
    inherit_cache = True
    name = "days_between"


@compiles(days_between, "sqlite")
def _days_in_sqlite(element: days_between, compiler: SQLCompiler, **kw: Any) -> str:
    first, second = (compiler.process(clause, **kw) for clause in element.clauses)
    return f"CAST(julianday({second}) - julianday({first}) AS INTEGER)"


@compiles(days_between)
def _days_elsewhere(element: days_between, compiler: SQLCompiler, **kw: Any) -> str:
    first, second = (compiler.process(clause, **kw) for clause in element.clauses)
    return f"({second} - {first})"


def sums_statement(
    question: RateQuestion, *, conditions: list[Condition], correlation: float
) -> Select[Any]:
    """Return the statement whose rows are the groups: keys, sums, and the labels of the keys.

    `conditions` come from `conditions_of` for the same question. The sums are made first, in one
    pass; only the few groups that come out are looked up in the registers of names.
    """
    sources = [source_of(key, day_of=question.day_of) for key in question.by]
    inner = (
        select(*_keys(question), *_sums(correlation))
        .select_from(batches_in(question))
        .where(*conditions)
    )
    groups = inner.group_by(*(source_column for each in sources for source_column in each.columns))
    return _with_labels(groups.subquery("sums"), sources=sources)


def batches_in(question: RateQuestion) -> FromClause:
    """Return the summary of batches, joined only to what the question cannot do without."""
    named = {*question.by, *(each.key for each in question.where)}
    sources = [source_of(key, day_of=question.day_of) for key in named]
    tables: FromClause = BatchFacts.__table__
    by_taking = question.day_of is DayOf.TAKEN and (question.since or question.until)
    if (
        any(source.needs_batch for source in sources)
        or by_taking
        or not question.with_restuck
        or question.only_person_id is not None
    ):
        tables = tables.join(Batch.__table__, Batch.id == BatchFacts.batch_id)
    if any(source_of(key, day_of=question.day_of).needs_sources for key in question.by):
        tables = tables.outerjoin(SOURCES, SOURCES.c.batch_id == BatchFacts.batch_id)
    return tables


def values_of_row(row: Row[Any], *, question: RateQuestion) -> tuple[str, ...]:
    """Return the printed values of a row of `sums_statement`, one per name asked by."""
    found = row._mapping
    values = []
    for place, key in enumerate(question.by):
        source = source_of(key, day_of=question.day_of)
        raw = [found[_key_name(place, part)] for part in range(len(source.columns))]
        label = found[_label_name(place)] if source.register else None
        values.append(source.spell(raw, label))
    return tuple(values)


def raw_keys_of_row(row: Row[Any], *, question: RateQuestion) -> tuple[Any, ...]:
    """Return what the row is grouped by, before it is spelled; equal in all statements here."""
    found = row._mapping
    return tuple(found[name] for name in _key_names(question))


def members_statement(question: RateQuestion, *, conditions: list[Condition]) -> Select[Any]:
    """Return the statement whose rows are the batches, each with the raw keys of its group.

    A batch with several sources comes once for each of them.
    """
    facts = BatchFacts
    return (
        select(
            facts.batch_id,
            facts.genus_id,
            *_keys(question),
            facts.rooted,
            (facts.lost + facts.dumped).label("failed"),
            (facts.unrooted + facts.cleared_unrooted).label("unknown"),
        )
        .select_from(batches_in(question))
        .where(*conditions)
    )


def facts_of_row(row: Row[Any]) -> GroupFacts:
    """Return the facts of a row of `sums_statement`."""
    if not row.batches:
        return NO_FACTS
    found = row._mapping
    return GroupFacts(
        every=_tally(found, prefix=""),
        finished=_tally(found, prefix=_FINISHED),
        too_young=found["too_young"],
    )


def _keys(question: RateQuestion) -> list[ColumnElement[Any]]:
    columns = [
        column for key in question.by for column in source_of(key, day_of=question.day_of).columns
    ]
    return [column.label(name) for column, name in zip(columns, _key_names(question), strict=True)]


def _key_names(question: RateQuestion) -> list[str]:
    return [
        _key_name(place, part)
        for place, key in enumerate(question.by)
        for part in range(len(source_of(key, day_of=question.day_of).columns))
    ]


def _tally(found: Any, *, prefix: str) -> Tally:
    names = ("batches", *_COUNTS, "effective_cuttings", "effective_rooted", "effective_unknown")
    return Tally(**{name: found[prefix + name] for name in names})


def _sums(correlation: float) -> list[ColumnElement[Any]]:
    worth = literal(1.0) / (literal(1.0) + (BatchFacts.stuck - 1) * literal(correlation))
    summed: dict[str, ColumnElement[Any]] = {name: BatchFacts.__table__.c[name] for name in _COUNTS}
    summed["effective_cuttings"] = BatchFacts.stuck * worth
    summed["effective_rooted"] = BatchFacts.rooted * worth
    summed["effective_unknown"] = (BatchFacts.unrooted + BatchFacts.cleared_unrooted) * worth
    finished = (BatchFacts.unrooted == 0) & (BatchFacts.cleared_unrooted == 0)
    old = days_between(BatchFacts.stuck_on, BatchFacts.counted_on) >= LANDMARK_DAYS
    return [
        func.count().label("batches"),
        *(func.sum(column).label(name) for name, column in summed.items()),
        func.sum(case((finished, 1), else_=0)).label(f"{_FINISHED}batches"),
        *(
            func.sum(case((finished, column), else_=0)).label(_FINISHED + name)
            for name, column in summed.items()
        ),
        func.sum(case((finished, 0), (old, 0), else_=1)).label("too_young"),
    ]


def _with_labels(sums: Subquery, *, sources: list[NameSource]) -> Select[Any]:
    statement = select(sums)
    tables: FromClause = sums
    for place, source in enumerate(sources):
        if source.register is None:
            continue
        # An alias each, since both names may be looked up in the same register.
        register = source.register.id.class_.__table__.alias(f"register_{place}")
        key = sums.c[_key_name(place, len(source.columns) - 1)]
        tables = tables.outerjoin(register, register.c[source.register.id.key] == key)
        label = register.c[source.register.label.key].label(_label_name(place))
        statement = statement.add_columns(label)
    return statement.select_from(tables)


def _key_name(place: int, part: int) -> str:
    return f"key_{place}_{part}"


def _label_name(place: int) -> str:
    return f"label_{place}"
