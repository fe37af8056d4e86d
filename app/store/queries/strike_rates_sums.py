"""The sums of groups of batches, as one pass of SQL over their narrow summary."""

from collections.abc import Callable
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
    literal_column,
    select,
)
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.compiler import SQLCompiler
from sqlalchemy.sql.functions import FunctionElement
from sqlalchemy.types import Integer

from app.domain.strike_rates import LANDMARK_DAYS, GroupFacts, RateOf, Tally
from app.domain.strike_rates_questions import DayOf, RateQuestion, Restuck
from app.store.models.batches import Batch, BatchFacts
from app.store.models.liner_lots import LinerFacts
from app.store.queries.strike_rates_filters import Condition
from app.store.queries.strike_rates_names import SOURCES, NameSource, source_of

_COUNTS: Final = ("stuck", "rooted", "lost", "dumped", "cleared_unrooted", "unrooted")
_WEIGHTS: Final = ("effective_cuttings", "effective_rooted", "effective_unknown")
_STATE: Final = "state"
_FINISHED, _OLD, _YOUNG = range(3)


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
    """Return the statement whose rows make up the groups: keys, state, sums, labels of the keys.

    A group comes as up to three rows, one for each state its batches are in, so that each batch
    is summed once. `conditions` come from `conditions_of` for the same question. The sums are made
    first, in one pass; only the few rows that come out are looked up in the registers of names.
    """
    sources = [source_of(key, day_of=question.day_of) for key in question.by]
    inner = (
        select(*_keys(question), _state(question).label(_STATE), *_sums(question, correlation))
        .select_from(batches_in(question))
        .where(*conditions)
    )
    columns = (column for source in sources for column in source.columns)
    groups = inner.group_by(*columns, _state(question)).subquery("sums")
    return _with_labels(groups, sources=sources)


def batches_in(question: RateQuestion) -> FromClause:
    """Return the summary of batches, joined only to what the question cannot do without."""
    named = {*question.by, *(each.key for each in question.where)}
    sources = [source_of(key, day_of=question.day_of) for key in named]
    tables: FromClause = BatchFacts.__table__
    by_taking = question.day_of is DayOf.TAKEN and (question.since or question.until)
    if (
        any(source.needs_batch for source in sources)
        or by_taking
        or question.restuck is not Restuck.WITH
        or question.only_person_id is not None
    ):
        tables = tables.join(Batch.__table__, Batch.id == BatchFacts.batch_id)
    if question.of is RateOf.READY:
        tables = tables.outerjoin(LinerFacts.__table__, LinerFacts.batch_id == BatchFacts.batch_id)
    if any(source_of(key, day_of=question.day_of).needs_sources for key in question.by):
        tables = tables.outerjoin(SOURCES, SOURCES.c.batch_id == BatchFacts.batch_id)
    return tables


def values_of_row(row: Row[Any], *, question: RateQuestion) -> tuple[str, ...]:
    """Return the printed values of a row of `sums_statement`, one per name asked by."""
    return speller_of(question)(row)


def speller_of(question: RateQuestion) -> Callable[[Row[Any]], tuple[str, ...]]:
    """Return what prints the values of each row of `sums_statement`, one per name asked by."""
    sources = [source_of(key, day_of=question.day_of) for key in question.by]
    keys = [
        [_key_name(place, part) for part in range(len(source.columns))]
        for place, source in enumerate(sources)
    ]

    def spell(row: Row[Any]) -> tuple[str, ...]:
        found = row._mapping
        return tuple(
            source.spell(
                [found[key] for key in keys[place]],
                found[_label_name(place)] if source.register else None,
            )
            for place, source in enumerate(sources)
        )

    return spell


def raw_keys_of_row(row: Row[Any], *, question: RateQuestion) -> tuple[Any, ...]:
    """Return what the row is grouped by, before it is spelled; equal in all statements here."""
    found = row._mapping
    return tuple(found[name] for name in _key_names(question))


def members_statement(question: RateQuestion, *, conditions: list[Condition]) -> Select[Any]:
    """Return the statement whose rows are the batches, each with the raw keys of its group.

    Columns: batch_id, genus_id, the raw keys, rooted, failed, unknown. A batch with several
    sources comes once for each of them.
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


def facts_of_row(row: Row[Any], *, of: RateOf = RateOf.STRIKE) -> GroupFacts:
    """Return the facts of a row of `sums_statement`: those of one group's batches in one state."""
    found = row._mapping
    tally = Tally(**{name: found[name] for name in ("batches", *_COUNTS, *_WEIGHTS)}, of=of)
    return GroupFacts(
        every=tally,
        finished=tally if found[_STATE] == _FINISHED else Tally(),
        too_young=tally.batches if found[_STATE] == _YOUNG else 0,
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


def _state(question: RateQuestion) -> ColumnElement[int]:
    counts = counts_of(question.of)
    known = (counts["unrooted"] == 0) & (BatchFacts.cleared_unrooted == 0)
    if question.of is RateOf.READY:
        return case((known, literal_column(str(_FINISHED))), else_=literal_column(str(_YOUNG)))
    old = days_between(BatchFacts.stuck_on, BatchFacts.counted_on) >= LANDMARK_DAYS
    # Literals, since a bound value may not stand in both the list of columns and GROUP BY.
    return case(
        (known, literal_column(str(_FINISHED))),
        (old, literal_column(str(_OLD))),
        else_=literal_column(str(_YOUNG)),
    )


def counts_of(of: RateOf) -> dict[str, ColumnElement[int]]:
    """Return the counts of a batch as a rate of this kind sums them, by their names.

    Of plants ready: rooted are those that became ready, lost also those lost after rooting, and
    unrooted all that may still become ready. Needs `LinerFacts` joined then.
    """
    table = BatchFacts.__table__
    counts: dict[str, ColumnElement[int]] = {name: table.c[name] for name in _COUNTS}
    if of is RateOf.STRIKE:
        return counts
    ready = func.coalesce(LinerFacts.ready, literal_column("0"))
    lost = func.coalesce(LinerFacts.lost, literal_column("0"))
    return counts | {
        "rooted": ready,
        "lost": BatchFacts.lost + lost,
        "unrooted": BatchFacts.unrooted + BatchFacts.rooted - ready - lost,
    }


def _sums(question: RateQuestion, correlation: float) -> list[ColumnElement[Any]]:
    counts = counts_of(question.of)
    worth = literal(1.0) / (literal(1.0) + (counts["stuck"] - 1) * literal(correlation))
    unknown = counts["unrooted"] + counts["cleared_unrooted"]
    weighed = (counts["stuck"], counts["rooted"], unknown)
    return [
        func.count().label("batches"),
        *(func.sum(counts[name]).label(name) for name in _COUNTS),
        *(
            func.sum(number * worth).label(name)
            for name, number in zip(_WEIGHTS, weighed, strict=True)
        ),
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
