"""Reading what wants a look: open batches by due day, and what stands on a bench.

The list reads the partial index of open batches, so that it costs the same whatever the number
of batches cleared long ago.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from sqlalchemy import ColumnElement, Row, and_, func, literal_column, select
from sqlalchemy.orm import Session

from app.domain.containers import ContainerKind
from app.domain.cutting_types import CuttingType
from app.domain.due import (
    COMING_DAYS,
    DueDates,
    TimeToRoot,
    due_for,
    expectation,
    urgency,
)
from app.domain.due_lists import DueBatch, DueList, by_bench
from app.domain.due_outlooks import KeptOutlook
from app.domain.outcomes import Standing
from app.store.models.batches import Batch, BatchFacts
from app.store.models.benches import Bench, BenchPlace, BenchStay
from app.store.models.checks import Check, CheckLoss, CheckVersion
from app.store.models.containers import Container
from app.store.models.hormones import HormoneRow
from app.store.models.lost_causes import LostCause
from app.store.models.plant_names import PlantNameRow
from app.store.queries.check_plans import PlanBook, read_plan_book
from app.store.queries.outlooks import outlooks_by_batch

LONGEST_LIST = 500

# Said literally, since only then does the database know that the partial index serves.
_OPEN: ColumnElement[bool] = literal_column("batch_facts.open") == literal_column("1")


def count_late(session: Session, *, on: date) -> int:
    """Return how many open batches are late on a day."""
    # Whatever is late was due before: said for the sake of the index.
    return _count(session, and_(BatchFacts.due_on < on, BatchFacts.late_on <= on))


def list_due(session: Session, *, on: date, most: int = LONGEST_LIST) -> DueList:
    """Return what is late on a day, due on it, or due in the seven days after.

    No more than `most` batches are told, the longest due first.
    """
    until = on + timedelta(days=COMING_DAYS)
    late = count_late(session, on=on)
    due_today = _count(session, and_(BatchFacts.due_on <= on, BatchFacts.late_on > on))
    coming = _count(session, and_(BatchFacts.due_on > on, BatchFacts.due_on <= until))
    rows = _due_rows(session, condition=BatchFacts.due_on <= until, most=most)
    batches = _told(session, rows, on=on)
    return DueList(
        on=on,
        late=late,
        due_today=due_today,
        coming=coming,
        benches=by_bench(batches),
        left_out=late + due_today + coming - len(batches),
        next_due_on=session.scalar(select(func.min(BatchFacts.due_on)).where(_OPEN)),
    )


def has_batches(session: Session) -> bool:
    """Return whether any batch was ever logged."""
    return session.scalar(select(Batch.id).limit(1)) is not None


def list_round(session: Session, *, on: date) -> tuple[DueBatch, ...]:
    """Return the batches that are late or due on a day, in the order they stand."""
    return list_due(session, on=on).wanted


def find_due_batch(session: Session, *, on: date, batch_id: int) -> DueBatch | None:
    """Return what is to be said of one batch's next check, None once it is cleared."""
    rows = _due_rows(session, condition=BatchFacts.batch_id == batch_id, most=1)
    told = _told(session, rows, on=on)
    return told[0] if told else None


def _count(session: Session, condition: ColumnElement[bool]) -> int:
    query = select(func.count()).select_from(BatchFacts).where(_OPEN, condition)
    return session.scalar(query) or 0


def _due_rows(
    session: Session, *, condition: ColumnElement[bool], most: int
) -> Sequence[Row[*tuple[Any, ...]]]:
    query = (
        select(
            *BatchFacts.__table__.c,
            Batch.code,
            PlantNameRow.plain.label("plant"),
            PlantNameRow.species,
            HormoneRow.label.label("hormone"),
            Container.kind.label("container_kind"),
        )
        .join(Batch, Batch.id == BatchFacts.batch_id)
        .join(PlantNameRow, PlantNameRow.id == BatchFacts.plant_name_id)
        .outerjoin(HormoneRow, HormoneRow.id == BatchFacts.hormone_id)
        .outerjoin(Container, Container.id == Batch.container_id)
        .where(_OPEN, condition)
        .order_by(BatchFacts.due_on, BatchFacts.batch_id)
        .limit(most)
    )
    return session.execute(query).all()


def _told(
    session: Session, rows: Sequence[Row[*tuple[Any, ...]]], *, on: date
) -> tuple[DueBatch, ...]:
    """Return the rows with everything their lines say."""
    batch_ids = [row.batch_id for row in rows]
    book = read_plan_book(session, batch_ids=())
    spreading = _spreading(session, batch_ids)
    places = _places(session, batch_ids)
    outlooks = outlooks_by_batch(session, batch_ids=batch_ids)
    return tuple(
        _due_batch(
            row,
            on=on,
            book=book,
            spreading=spreading.get(row.batch_id, ()),
            stands=places.get(row.batch_id, ()),
            outlook=outlooks.get(row.batch_id),
        )
        for row in rows
    )


def _spreading(session: Session, batch_ids: Sequence[int]) -> Mapping[int, tuple[str, ...]]:
    """Return the causes that spread, among those found on the day each batch was last looked at."""
    newest = and_(CheckVersion.check_id == Check.id, CheckVersion.number == Check.version)
    query = (
        select(BatchFacts.batch_id, LostCause.name)
        .join(
            Check,
            and_(
                Check.batch_id == BatchFacts.batch_id,
                Check.checked_on == BatchFacts.last_looked_on,
                Check.withdrawn == 0,
            ),
        )
        .join(CheckVersion, newest)
        .join(CheckLoss, CheckLoss.check_version_id == CheckVersion.id)
        .join(LostCause, LostCause.id == CheckLoss.lost_cause_id)
        .where(LostCause.spreads)
        .order_by(BatchFacts.batch_id, LostCause.position)
        .distinct()
    )
    found: dict[int, tuple[str, ...]] = {}
    for chunk in _chunks(batch_ids):
        for batch_id, cause in session.execute(query.where(BatchFacts.batch_id.in_(chunk))):
            found[batch_id] = (*found.get(batch_id, ()), cause)
    return found


def _chunks(batch_ids: Sequence[int]) -> Iterator[Sequence[int]]:
    for start in range(0, len(batch_ids), LONGEST_LIST):
        yield batch_ids[start : start + LONGEST_LIST]


@dataclass(frozen=True, kw_only=True)
class _Place:
    bench_id: int
    name: str
    walking_order: int
    position: int | None


def _places(session: Session, batch_ids: Sequence[int]) -> Mapping[int, tuple[_Place, ...]]:
    """Return the benches where each batch stands now, in walking order."""
    query = (
        select(BenchStay.batch_id, Bench.id, Bench.name, Bench.walking_order, BenchPlace.position)
        .join(Bench, Bench.id == BenchStay.bench_id)
        .outerjoin(
            BenchPlace,
            and_(
                BenchPlace.bench_id == BenchStay.bench_id,
                BenchPlace.batch_id == BenchStay.batch_id,
            ),
        )
        .where(BenchStay.to_on.is_(None))
        .order_by(BenchStay.batch_id, Bench.walking_order, Bench.name)
        .distinct()
    )
    found: dict[int, tuple[_Place, ...]] = {}
    for chunk in _chunks(batch_ids):
        for row in session.execute(query.where(BenchStay.batch_id.in_(chunk))):
            batch_id = row.batch_id
            place = _Place(
                bench_id=row.id,
                name=row.name,
                walking_order=row.walking_order,
                position=row.position,
            )
            found[batch_id] = (*found.get(batch_id, ()), place)
    return found


def _due_batch(
    row: Row[*tuple[Any, ...]],
    *,
    on: date,
    book: PlanBook,
    spreading: tuple[str, ...],
    stands: tuple[_Place, ...],
    outlook: KeptOutlook | None,
) -> DueBatch:
    standing, dates = _standing(row), _dates(row)
    return DueBatch(
        batch_id=row.batch_id,
        code=row.code,
        plant=row.plant,
        cutting_type=row.cutting_type,
        hormone=row.hormone or "",
        standing=standing,
        stuck_on=row.stuck_on,
        due_on=row.due_on,
        late_on=row.late_on,
        next_look_on=row.next_look_on,
        next_count_on=row.next_count_on,
        age_days=(on - row.stuck_on).days,
        state=dates.state(on),
        wants=due_for(dates, today=on),
        urgent=urgency(dates, today=on, standing=standing, spreading=spreading),
        expect=_expectation(row, dates=dates, on=on, book=book, outlook=outlook),
        bench_id=stands[0].bench_id if stands else None,
        bench=stands[0].name if stands else "",
        walking_order=stands[0].walking_order if stands else 0,
        position=stands[0].position if stands else None,
        also_on=tuple(place.name for place in stands[1:]),
        outlook=outlook,
        cost=outlook.cost_on(on) if outlook else None,
        basis=outlook.basis if outlook else "",
    )


def _dates(row: Row[*tuple[Any, ...]]) -> DueDates:
    return DueDates(
        stuck_on=row.stuck_on,
        look_on=row.next_look_on,
        count_on=row.next_count_on,
        late_on=row.late_on,
    )


def _standing(row: Row[*tuple[Any, ...]]) -> Standing:
    return Standing(
        stuck=row.stuck,
        rooted=row.rooted,
        lost=row.lost,
        dumped=row.dumped,
        cleared_unrooted=row.cleared_unrooted,
        last_looked_on=row.last_looked_on,
        counted_on=row.counted_on,
    )


def _expectation(
    row: Row[*tuple[Any, ...]],
    *,
    dates: DueDates,
    on: date,
    book: PlanBook,
    outlook: KeptOutlook | None,
) -> str:
    lined_out = (
        row.container_kind == ContainerKind.LINED_OUT and row.cutting_type == CuttingType.HARDWOOD
    )
    return expectation(
        dates,
        today=on,
        standing=_standing(row),
        time_to_root=_time_to_root(row, book=book),
        lined_out=lined_out,
        outlook=outlook,
    )


def _time_to_root(row: Row[*tuple[Any, ...]], *, book: PlanBook) -> TimeToRoot | None:
    time = book.card_time(
        plant_name_id=row.plant_name_id,
        genus_id=row.genus_id,
        species=row.species,
        cutting_type=row.cutting_type,
    )
    if time is None:
        return None
    return TimeToRoot(weeks_low=time.weeks_low, weeks_high=time.weeks_high, source=time.source)
