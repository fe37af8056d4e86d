"""Listing batches by filters, a page at a time by key, so that page 1,000 costs as page 1."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any, Final

from sqlalchemy import ColumnElement, Row, Select, and_, literal_column, or_, select, tuple_
from sqlalchemy.orm import Session, aliased

from app.domain.outcomes import Standing
from app.domain.strike_rates_questions import RateQuestion
from app.store.models.batches import Batch, BatchFacts
from app.store.models.hormones import HormoneRow
from app.store.models.plant_names import PlantNameRow
from app.store.queries.batch_places import benches_now
from app.store.queries.strike_rates_filters import conditions_of
from app.store.queries.strike_rates_sums import batches_in

PAGE: Final = 50
# Said literally, since only then does the database know that the partial index serves.
_OPEN: Final[ColumnElement[bool]] = literal_column("batch_facts.open") == literal_column("1")
_ANYTHING: Final = RateQuestion()
# Digits; more than any number of a batch has, and few enough for the database.
_LONGEST_NUMBER: Final = 9


class BatchesIn(StrEnum):
    """Which batches a list holds, by where they stand."""

    ALL = "all"
    OPEN = "unrooted ones left"
    LATE = "late"
    UNROOTED = "nothing rooted yet"
    PART_ROOTED = "part rooted"
    CLEARED = "cleared"
    VOID = "void"


@dataclass(frozen=True, kw_only=True)
class BatchKey:
    """The place of a batch in a list: newest sticking first, then the last entered."""

    stuck_on: date
    batch_id: int


@dataclass(frozen=True, kw_only=True)
class BatchesWanted:
    """What a list is to hold: filters as in a question about strike rates, a state, a text.

    `text` is looked for in plant names and own references; figures alone also in the codes.
    """

    question: RateQuestion = _ANYTHING
    state: BatchesIn = BatchesIn.ALL
    text: str = ""


@dataclass(frozen=True, kw_only=True)
class BatchLine:
    """One batch in a list."""

    batch_id: int
    code: str
    plant: str
    cutting_type: str
    hormone: str
    own_reference: str
    stuck_on: date
    standing: Standing
    due_on: date | None
    late_on: date | None
    void: bool
    restuck_from: str
    benches: tuple[str, ...]

    @property
    def key(self) -> BatchKey:
        """Its place in the list."""
        return BatchKey(stuck_on=self.stuck_on, batch_id=self.batch_id)


@dataclass(frozen=True, kw_only=True)
class BatchPage:
    """Some lines of a list; `newer` and `older` say whether there are more on either side."""

    lines: tuple[BatchLine, ...]
    newer: bool
    older: bool


def list_batches(
    session: Session,
    *,
    wanted: BatchesWanted,
    today: date,
    older_than: BatchKey | None = None,
    newer_than: BatchKey | None = None,
    limit: int = PAGE,
) -> BatchPage:
    """Return a page of batches, newest sticking first, on one side of a key if one is given.

    Raises:
        NotAccepted: a filter's value is unknown; the problem's field is the filter's name.
    """
    ids = (
        select(BatchFacts.batch_id)
        .select_from(batches_in(wanted.question))
        .where(*_conditions(session, wanted, today=today))
    )
    backwards = newer_than is not None
    key = tuple_(BatchFacts.stuck_on, BatchFacts.batch_id)
    if newer_than is not None:
        ids = ids.where(key > (newer_than.stuck_on, newer_than.batch_id))
        ids = ids.order_by(BatchFacts.stuck_on, BatchFacts.batch_id)
    else:
        if older_than is not None:
            ids = ids.where(key < (older_than.stuck_on, older_than.batch_id))
        ids = ids.order_by(BatchFacts.stuck_on.desc(), BatchFacts.batch_id.desc())
    found = session.scalars(ids.limit(limit + 1)).all()
    more = len(found) > limit
    return BatchPage(
        lines=_lines(session, found[:limit]),
        newer=more if backwards else older_than is not None,
        older=backwards or more,
    )


def list_recent_plants(session: Session, *, limit: int) -> tuple[str, ...]:
    """Return the plant names stuck most recently, each once, the latest first."""
    recent = (
        select(BatchFacts.plant_name_id, BatchFacts.batch_id)
        .where(BatchFacts.voided == 0)
        .order_by(BatchFacts.batch_id.desc())
        .limit(limit * 10)
        .subquery("recent")
    )
    query = (
        select(PlantNameRow.plain)
        .join(recent, recent.c.plant_name_id == PlantNameRow.id)
        .order_by(recent.c.batch_id.desc())
    )
    return tuple(dict.fromkeys(session.scalars(query)))[:limit]


def _conditions(
    session: Session, wanted: BatchesWanted, *, today: date
) -> list[ColumnElement[bool]]:
    if wanted.state is BatchesIn.VOID:
        conditions: list[ColumnElement[bool]] = [BatchFacts.voided == 1]
    else:
        conditions = [*conditions_of(session, question=wanted.question)]
        conditions += _in_state(wanted.state, today=today)
    if wanted.text:
        conditions.append(_told(wanted.text))
    return conditions


def _in_state(state: BatchesIn, *, today: date) -> list[ColumnElement[bool]]:
    facts = BatchFacts
    return {
        BatchesIn.OPEN: [_OPEN],
        BatchesIn.LATE: [_OPEN, facts.due_on < today, facts.late_on <= today],
        BatchesIn.UNROOTED: [_OPEN, facts.rooted == 0],
        BatchesIn.PART_ROOTED: [_OPEN, facts.rooted > 0],
        BatchesIn.CLEARED: [facts.open == 0],
    }.get(state, [])


def _told(text: str) -> ColumnElement[bool]:
    """Return the condition that name, own reference or the number in the code fits the text."""
    words = [PlantNameRow.plain.icontains(word, autoescape=True) for word in text.split()]
    names = select(PlantNameRow.id).where(and_(*words))
    own = select(Batch.id).where(
        Batch.own_reference != "", Batch.own_reference.icontains(text, autoescape=True)
    )
    fits = [BatchFacts.plant_name_id.in_(names), BatchFacts.batch_id.in_(own)]
    if text.isdecimal() and len(text) <= _LONGEST_NUMBER:
        # Whoever leaves the year out gets the batches of that number of every year to choose from.
        fits.append(BatchFacts.batch_id.in_(select(Batch.id).where(Batch.number == int(text))))
    return or_(*fits)


def _lines(session: Session, batch_ids: Sequence[int]) -> tuple[BatchLine, ...]:
    facts, parent = BatchFacts, aliased(Batch)
    query: Select[*tuple[Any, ...]] = (
        select(
            *facts.__table__.c,
            Batch.code,
            Batch.own_reference,
            PlantNameRow.plain.label("plant"),
            HormoneRow.label.label("hormone"),
            parent.code.label("restuck_from"),
        )
        .join(Batch, Batch.id == facts.batch_id)
        .join(PlantNameRow, PlantNameRow.id == facts.plant_name_id)
        .outerjoin(HormoneRow, HormoneRow.id == facts.hormone_id)
        .outerjoin(parent, parent.id == Batch.restuck_from_id)
        .where(facts.batch_id.in_(batch_ids))
        .order_by(facts.stuck_on.desc(), facts.batch_id.desc())
    )
    places = benches_now(session, batch_ids=batch_ids)
    return tuple(_line(row, benches=places.get(row.batch_id, ())) for row in session.execute(query))


def _line(row: Row[*tuple[Any, ...]], *, benches: tuple[str, ...]) -> BatchLine:
    return BatchLine(
        batch_id=row.batch_id,
        code=row.code,
        plant=row.plant,
        cutting_type=row.cutting_type,
        hormone=row.hormone or "",
        own_reference=row.own_reference,
        stuck_on=row.stuck_on,
        standing=Standing(
            stuck=row.stuck,
            rooted=row.rooted,
            lost=row.lost,
            dumped=row.dumped,
            cleared_unrooted=row.cleared_unrooted,
        ),
        due_on=row.due_on,
        late_on=row.late_on,
        void=bool(row.voided),
        restuck_from=row.restuck_from or "",
        benches=benches,
    )
