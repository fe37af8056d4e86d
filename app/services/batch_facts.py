"""The one way in which a batch's counts and next dates are written down.

`facts_of` works them out from the checks; `refresh_facts` does so for one batch in the
transaction that changed it, `refresh_many` for many. Nothing else writes `batch_facts`.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from sqlalchemy import ColumnElement, Row, Select, bindparam, case, insert, select, update
from sqlalchemy.orm import Session

from app.domain.check_plans import BatchPlan, Plans, choose_plan, next_dates
from app.domain.cutting_types import is_cutting
from app.domain.fit_records import BatchToForecast, type_code
from app.domain.nursery import Hemisphere
from app.domain.outcomes import CheckCounts, Standing, tally
from app.domain.problems import NotFound
from app.services.data_versions import let_be_stale
from app.services.liner_facts import refuse_fewer_rooted
from app.services.outlooks import keep_outlooks, outlook_of
from app.store.models.batches import Batch, BatchFacts
from app.store.models.checks import Check
from app.store.models.containers import Container
from app.store.models.meta import Meta
from app.store.models.mixes import MixVersion
from app.store.models.plant_names import PlantNameRow
from app.store.queries.check_plans import PlanBook, read_plan_book
from app.store.queries.checks import counts_by_batch
from app.store.queries.fits import find_fit

if TYPE_CHECKING:
    from app.domain.nursery_fits import NurseryFit
    from app.domain.outlooks import BatchOutlook

_CHUNK = 500


@dataclass(frozen=True, kw_only=True)
class BatchBasics:
    """What the facts of a batch rest on besides its checks and plans."""

    batch_id: int
    genus_id: int
    plant_name_id: int
    stuck_on: date
    stuck: int
    species: str = ""
    cutting_type: str = ""
    hormone_id: int | None = None
    mix_id: int | None = None
    container_kind: str = ""
    hemisphere: Hemisphere = Hemisphere.NORTH
    voided: bool = False


@dataclass(frozen=True, kw_only=True)
class Facts:
    """One row of `batch_facts`: rooted + lost + dumped + cleared_unrooted + unrooted = stuck."""

    batch_id: int
    genus_id: int
    plant_name_id: int
    cutting_type: str
    hormone_id: int | None
    mix_id: int | None
    stuck_on: date
    year_stuck: int
    month_stuck: int
    stuck: int
    rooted: int
    lost: int
    dumped: int
    cleared_unrooted: int
    unrooted: int
    open: int
    voided: int
    last_looked_on: date | None
    counted_on: date | None
    next_look_on: date | None
    next_count_on: date | None
    due_on: date | None
    late_on: date | None


def facts_of(
    basics: BatchBasics,
    *,
    checks: Sequence[CheckCounts],
    plans: Plans,
    fit: "NurseryFit | None" = None,
) -> Facts:
    """Return the facts of a batch after its checks, as they are to be stored.

    With a `fit` its next count is timed by what earlier batches taught.

    Raises:
        DoesNotAddUp: the checks exceed what was stuck, or contradict each other.
    """
    standing = tally(checks, stuck=basics.stuck, stuck_on=basics.stuck_on)
    outlook = _outlook(fit, basics, checks=checks, standing=standing, plans=plans)
    return _facts(basics, standing=standing, plans=plans, outlook=outlook)


def refresh_facts(session: Session, *, batch_id: int) -> Facts:
    """Work out one batch's facts afresh, store them and return them.

    What went with the batch's ending is brought into step first, as it is whatever the other
    checks leave.

    Raises:
        DoesNotAddUp: the checks exceed what is stuck, or contradict each other.
        NotAccepted: they leave fewer rooted than were potted up or lost after rooting.
        NotFound: there is no such batch.
    """
    books = read_books(session, batch_ids=[batch_id])
    refreshed = _refresh(session, [batch_id], books=books)
    if not refreshed:
        raise NotFound("There is no such batch.")
    let_be_stale(session)
    return refreshed[0]


def refresh_many(session: Session, *, batch_ids: Iterable[int]) -> int:
    """Work out the facts of many batches afresh and return how many there were.

    Raises:
        DoesNotAddUp: as `refresh_facts`.
    """
    number = _refresh_in_chunks(session, batch_ids, books=read_books(session))
    let_be_stale(session)
    return number


def refresh_dates(
    session: Session, *, batch_ids: Iterable[int], fit: "NurseryFit | None" = None
) -> int:
    """Work out afresh when batches are due, and return how many there were.

    For a changed plan or a new `fit` (the stored one if left out): no count changes, so that
    what was learned stays as good as it was.
    """
    books = read_books(session)
    return _refresh_in_chunks(session, batch_ids, books=replace(books, fit=fit or books.fit))


def read_basics(session: Session, *, batch_ids: Iterable[int]) -> tuple[BatchBasics, ...]:
    """Return what the facts of these batches rest on, by batch id."""
    wanted = sorted(set(batch_ids))
    query = _basics_query().where(Batch.id.in_(wanted)).order_by(Batch.id)
    return tuple(_basics(row) for row in session.execute(query))


def plans_of(book: PlanBook, *, basics: BatchBasics) -> Plans:
    """Return every plan in the book that might hold for the batch."""
    return book.plans(
        batch_id=basics.batch_id,
        plant_name_id=basics.plant_name_id,
        genus_id=basics.genus_id,
        species=basics.species,
        cutting_type=basics.cutting_type,
    )


def plan_of_batch(session: Session, *, batch_id: int) -> BatchPlan:
    """Return the check plan that holds for a batch now.

    Raises:
        NotFound: there is no such batch.
    """
    book = read_plan_book(session, batch_ids=[batch_id])
    for basics in read_basics(session, batch_ids=[batch_id]):
        return _chosen(basics, plans=plans_of(book, basics=basics))
    raise NotFound("There is no such batch.")


def lower_ending(session: Session, *, batch_id: int, ended: int) -> None:
    """Let no more than `ended` have gone with the batch's ending.

    To be called before a change that leaves less for the ending (more rooted at an earlier
    check, fewer stuck), so that at no moment more are accounted for than were stuck. It follows
    from the other counts and is no edit of its own: no version counts up.
    """
    _set_ended(session, Check.ended > ended, batch_id=batch_id, ended=ended)


def _set_ended(
    session: Session, condition: ColumnElement[bool], *, batch_id: int, ended: int
) -> None:
    session.execute(
        update(Check.__table__)  # type: ignore[arg-type]
        .where(Check.batch_id == batch_id, Check.withdrawn == 0, Check.ending != "", condition)
        .values(ended=ended)
    )


@dataclass(frozen=True, kw_only=True)
class Books:
    """What dates rest on: every plan, and what was learned so far."""

    plans: PlanBook
    fit: "NurseryFit | None"


def read_books(session: Session, *, batch_ids: Sequence[int] | None = None) -> Books:
    """Return what the dates of any batch rest on, read once for many."""
    stored = find_fit(session)
    plans = read_plan_book(session, batch_ids=batch_ids)
    return Books(plans=plans, fit=stored.fit if stored else None)


def _refresh_in_chunks(session: Session, batch_ids: Iterable[int], *, books: Books) -> int:
    wanted = sorted(set(batch_ids))
    starts = range(0, len(wanted), _CHUNK)
    return sum(
        len(_refresh(session, wanted[start : start + _CHUNK], books=books)) for start in starts
    )


def _refresh(session: Session, batch_ids: Sequence[int], *, books: Books) -> tuple[Facts, ...]:
    session.flush()
    counts = counts_by_batch(session, batch_ids=batch_ids)
    refreshed: list[Facts] = []
    standings: dict[int, Standing] = {}
    outlooks: dict[int, BatchOutlook | None] = {}
    for basics in read_basics(session, batch_ids=batch_ids):
        checks = counts.get(basics.batch_id, ())
        standing = tally(checks, stuck=basics.stuck, stuck_on=basics.stuck_on)
        standings[basics.batch_id] = standing
        plans = plans_of(books.plans, basics=basics)
        outlook = _outlook(books.fit, basics, checks=checks, standing=standing, plans=plans)
        outlooks[basics.batch_id] = outlook
        refreshed.append(_facts(basics, standing=standing, plans=plans, outlook=outlook))
    refuse_fewer_rooted(session, checks=counts, batch_ids=batch_ids)
    _keep_endings(session, standings)
    _store(session, refreshed)
    keep_outlooks(session, outlooks=outlooks)
    return tuple(refreshed)


def _keep_endings(session: Session, standings: Mapping[int, Standing]) -> None:
    """Bring the endings of batches, and how many went with them, into step with their checks."""
    for batch_id, standing in standings.items():
        if standing.ending:
            ended = standing.ended
            _set_ended(session, Check.ended != ended, batch_id=batch_id, ended=ended)
    rows = [
        {"of_batch": batch_id, "kind": standing.ending.value, "day": standing.ended_on}
        for batch_id, standing in standings.items()
    ]
    if rows:
        batches = Batch.__table__
        kept = case((bindparam("kind") == "", ""), else_=batches.c.ending_cause)
        session.execute(
            update(batches)  # type: ignore[arg-type]
            .where(batches.c.id == bindparam("of_batch"))
            .values(ending_kind=bindparam("kind"), ended_on=bindparam("day"), ending_cause=kept),
            rows,
        )


def _store(session: Session, refreshed: Sequence[Facts]) -> None:
    table = BatchFacts.__table__
    ids = [facts.batch_id for facts in refreshed]
    stored = set(session.scalars(select(table.c.batch_id).where(table.c.batch_id.in_(ids))))
    new = [asdict(facts) for facts in refreshed if facts.batch_id not in stored]
    known = [
        {**asdict(facts), "of_batch": facts.batch_id}
        for facts in refreshed
        if facts.batch_id in stored
    ]
    if new:
        session.execute(insert(table), new)  # type: ignore[arg-type]
    if known:
        session.execute(
            update(table).where(table.c.batch_id == bindparam("of_batch")),  # type: ignore[arg-type]
            known,
        )


def _outlook(
    fit: "NurseryFit | None",
    basics: BatchBasics,
    *,
    checks: Sequence[CheckCounts],
    standing: Standing,
    plans: Plans,
) -> "BatchOutlook | None":
    if basics.voided or not is_cutting(basics.cutting_type):
        return None
    if not _chosen(basics, plans=plans).learned:
        return None
    batch = BatchToForecast(
        batch_id=basics.batch_id,
        genus=basics.genus_id,
        cutting_type=type_code(basics.cutting_type),
        stuck_on=basics.stuck_on,
        stuck=basics.stuck,
    )
    return outlook_of(fit, batch=batch, checks=checks, standing=standing)


def _facts(
    basics: BatchBasics, *, standing: Standing, plans: Plans, outlook: "BatchOutlook | None"
) -> Facts:
    chosen = _chosen(basics, plans=plans)
    is_open = standing.unrooted > 0 and not basics.voided
    learned = outlook.count if outlook else None
    dates = next_dates(chosen, standing=standing, stuck_on=basics.stuck_on, learned=learned)
    due: Mapping[str, date | None] = {
        "next_look_on": dates.look_on,
        "next_count_on": dates.count_on,
        "due_on": dates.due_on,
        "late_on": dates.late_on,
    }
    return Facts(
        batch_id=basics.batch_id,
        genus_id=basics.genus_id,
        plant_name_id=basics.plant_name_id,
        cutting_type=basics.cutting_type,
        hormone_id=basics.hormone_id,
        mix_id=basics.mix_id,
        stuck_on=basics.stuck_on,
        year_stuck=basics.stuck_on.year,
        month_stuck=basics.stuck_on.month,
        stuck=basics.stuck,
        rooted=standing.rooted,
        lost=standing.lost,
        dumped=standing.dumped,
        cleared_unrooted=standing.cleared_unrooted,
        unrooted=standing.unrooted,
        open=int(is_open),
        voided=int(basics.voided),
        last_looked_on=standing.last_looked_on,
        counted_on=standing.counted_on,
        **(due if is_open else dict.fromkeys(due)),
    )


def _chosen(basics: BatchBasics, *, plans: Plans) -> BatchPlan:
    return choose_plan(
        plans,
        cutting_type=basics.cutting_type,
        container_kind=basics.container_kind,
        southern=basics.hemisphere is Hemisphere.SOUTH,
    )


def _basics_query() -> Select[*tuple[Any, ...]]:
    return (
        select(
            Batch.id,
            Batch.plant_name_id,
            Batch.stuck_on,
            Batch.stuck,
            Batch.cutting_type,
            Batch.hormone_id,
            Batch.voided_at,
            PlantNameRow.genus_id,
            PlantNameRow.species,
            MixVersion.mix_id,
            Container.kind,
            Meta.hemisphere,
        )
        .join(PlantNameRow, PlantNameRow.id == Batch.plant_name_id)
        .join(Meta, Meta.id == 1)
        .outerjoin(MixVersion, MixVersion.id == Batch.mix_version_id)
        .outerjoin(Container, Container.id == Batch.container_id)
    )


def _basics(row: Row[tuple[object, ...]]) -> BatchBasics:
    return BatchBasics(
        batch_id=row.id,
        genus_id=row.genus_id,
        plant_name_id=row.plant_name_id,
        stuck_on=row.stuck_on,
        stuck=row.stuck,
        species=row.species,
        cutting_type=row.cutting_type,
        hormone_id=row.hormone_id,
        mix_id=row.mix_id,
        container_kind=row.kind or "",
        hemisphere=Hemisphere(row.hemisphere),
        voided=row.voided_at is not None,
    )
