"""Reading rounds on paper: the sheets, one with its lines, what became of a batch meanwhile."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby
from typing import Any, Final

from sqlalchemy import Row, Select, and_, func, select
from sqlalchemy.orm import Session, aliased

from app.domain.due_lists import NO_BENCH
from app.domain.problems import NotFound
from app.domain.round_sheets import SheetCause
from app.store.models.batches import Batch, BatchFacts
from app.store.models.benches import Bench
from app.store.models.checks import Check, CheckVersion
from app.store.models.lost_causes import LostCause
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.models.round_sheets import RoundSheet, RoundSheetCause, RoundSheetLine
from app.store.queries.checks import StoredCheck, checks_by_id

PAGE: Final = 50


@dataclass(frozen=True, kw_only=True)
class SheetHead:
    """A sheet: its number, the day of its list, its bench ("" for all), and how much is typed in.

    `typed` is how many of its `lines` hold a check that counts.
    """

    id: int
    number: int
    listed_on: date
    bench_id: int | None
    bench: str
    made_by: str
    made_at: datetime
    lines: int
    typed: int

    @property
    def left(self) -> int:
        """How many lines are still open."""
        return self.lines - self.typed


@dataclass(frozen=True, kw_only=True)
class SheetLine:
    """A batch on a sheet.

    `unrooted` is how many were left when it was printed, `left` how many are now. `stored` is the
    check that was typed in from the line, withdrawn or not, and `meanwhile` are those that others
    wrote down of the batch since the sheet was printed.
    """

    id: int
    position: int
    batch_id: int
    code: str
    plant: str
    cutting_type: str
    bench: str
    stuck: int
    age_days: int
    unrooted: int
    left: int
    void: bool
    typed: str
    stored: StoredCheck | None
    meanwhile: tuple[StoredCheck, ...]

    @property
    def is_open(self) -> bool:
        """Whether nothing that counts was typed in from it yet."""
        return self.stored is None or self.stored.counts.withdrawn


@dataclass(frozen=True, kw_only=True)
class KnownSheet:
    """A sheet with its lines, in the order they stood, and the causes by their numbers on it."""

    head: SheetHead
    lines: tuple[SheetLine, ...]
    causes: tuple[SheetCause, ...]

    @property
    def benches(self) -> tuple[tuple[str, tuple[SheetLine, ...]], ...]:
        """The lines by bench, as they follow on paper."""
        return tuple(
            (name, tuple(lines)) for name, lines in groupby(self.lines, key=lambda one: one.bench)
        )

    @property
    def first_open(self) -> SheetLine | None:
        """The first line that waits to be typed in."""
        return next((line for line in self.lines if line.is_open), None)


def list_round_sheets(
    session: Session, *, before: int | None = None, limit: int = PAGE
) -> tuple[SheetHead, ...]:
    """Return sheets, the last printed first; `before` is the number to go on below."""
    query = _heads().order_by(RoundSheet.number.desc()).limit(limit)
    if before is not None:
        query = query.where(RoundSheet.number < before)
    return tuple(_head(row) for row in session.execute(query))


def get_round_sheet(session: Session, *, number: int) -> KnownSheet:
    """Return one sheet with everything that is said of its lines.

    Raises:
        NotFound: there is none of that number.
    """
    row = session.execute(_heads().where(RoundSheet.number == number)).one_or_none()
    if row is None:
        raise NotFound("There is no round sheet of this number.")
    head = _head(row)
    rows = session.execute(_lines().where(RoundSheetLine.round_sheet_id == head.id)).all()
    stored = checks_by_id(session, check_ids=[one.check_id for one in rows if one.check_id])
    meanwhile = _meanwhile(session, head)
    return KnownSheet(
        head=head,
        lines=tuple(
            _line(one, head=head, stored=stored, meanwhile=meanwhile.get(one.batch_id, ()))
            for one in rows
        ),
        causes=_causes(session, head),
    )


def list_foreign_sheet_lines(session: Session) -> tuple[tuple[int, int], ...]:
    """Return (number of the sheet, position) of lines whose check is of another batch."""
    query = (
        select(RoundSheet.number, RoundSheetLine.position)
        .join(RoundSheetLine, RoundSheetLine.round_sheet_id == RoundSheet.id)
        .join(Check, Check.id == RoundSheetLine.check_id)
        .where(Check.batch_id != RoundSheetLine.batch_id)
        .order_by(RoundSheet.number, RoundSheetLine.position)
    )
    return tuple((row.number, row.position) for row in session.execute(query))


def _heads() -> Select[*tuple[Any, ...]]:
    counts = and_(Check.id == RoundSheetLine.check_id, Check.withdrawn == 0)
    return (
        select(
            *RoundSheet.__table__.c,
            func.coalesce(Bench.name, "").label("bench"),
            func.coalesce(Person.name, "").label("made_by"),
            func.count(RoundSheetLine.id).label("lines"),
            func.count(Check.id).label("typed"),
        )
        .join(RoundSheetLine, RoundSheetLine.round_sheet_id == RoundSheet.id)
        .outerjoin(Check, counts)
        .outerjoin(Bench, Bench.id == RoundSheet.bench_id)
        .outerjoin(Person, Person.id == RoundSheet.made_by_id)
        .group_by(RoundSheet.id)
    )


def _head(row: Row[*tuple[Any, ...]]) -> SheetHead:
    names = SheetHead.__dataclass_fields__
    return SheetHead(**{name: getattr(row, name) for name in names})


def _lines() -> Select[*tuple[Any, ...]]:
    return (
        select(
            *RoundSheetLine.__table__.c,
            Batch.code,
            Batch.stuck,
            Batch.stuck_on,
            Batch.voided_at,
            BatchFacts.cutting_type,
            BatchFacts.unrooted.label("left"),
            PlantNameRow.plain.label("plant"),
            Bench.name.label("bench"),
        )
        .join(Batch, Batch.id == RoundSheetLine.batch_id)
        .join(BatchFacts, BatchFacts.batch_id == Batch.id)
        .join(PlantNameRow, PlantNameRow.id == Batch.plant_name_id)
        .outerjoin(Bench, Bench.id == RoundSheetLine.bench_id)
        .order_by(RoundSheetLine.position)
    )


def _line(
    row: Row[*tuple[Any, ...]],
    *,
    head: SheetHead,
    stored: Mapping[int, StoredCheck],
    meanwhile: tuple[StoredCheck, ...],
) -> SheetLine:
    return SheetLine(
        id=row.id,
        position=row.position,
        batch_id=row.batch_id,
        code=row.code,
        plant=row.plant,
        cutting_type=row.cutting_type or "",
        bench=row.bench or NO_BENCH,
        stuck=row.stuck,
        age_days=(head.listed_on - row.stuck_on).days,
        unrooted=row.unrooted,
        left=row.left,
        void=row.voided_at is not None,
        typed=row.typed,
        stored=stored.get(row.check_id),
        meanwhile=meanwhile,
    )


def _meanwhile(session: Session, head: SheetHead) -> Mapping[int, tuple[StoredCheck, ...]]:
    """Return the checks that count and were written down since, but not from this sheet."""
    line, own = aliased(RoundSheetLine), aliased(RoundSheetLine)
    query = (
        select(Check.id)
        .join(line, and_(line.batch_id == Check.batch_id, line.round_sheet_id == head.id))
        .join(CheckVersion, and_(CheckVersion.check_id == Check.id, CheckVersion.number == 1))
        .outerjoin(own, and_(own.check_id == Check.id, own.round_sheet_id == head.id))
        .where(Check.withdrawn == 0, CheckVersion.recorded_at > head.made_at, own.id.is_(None))
    )
    ids: Iterable[int] = session.scalars(query)
    found: dict[int, tuple[StoredCheck, ...]] = {}
    checks = checks_by_id(session, check_ids=ids).values()
    for check in sorted(checks, key=lambda one: (one.counts.checked_on, one.counts.running)):
        found[check.batch_id] = (*found.get(check.batch_id, ()), check)
    return found


def _causes(session: Session, head: SheetHead) -> tuple[SheetCause, ...]:
    query = (
        select(RoundSheetCause.number, LostCause.name)
        .join(LostCause, LostCause.id == RoundSheetCause.lost_cause_id)
        .where(RoundSheetCause.round_sheet_id == head.id)
        .order_by(RoundSheetCause.number)
    )
    return tuple(SheetCause(number=row.number, name=row.name) for row in session.execute(query))
