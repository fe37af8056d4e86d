"""Reading calendar addresses, and the due checks they tell of."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import ColumnElement, Row, Select, literal_column, select, true
from sqlalchemy.orm import Session

from app.domain.calendar_feeds import (
    DueCalendar,
    DueEvent,
    EventKind,
    FeedScope,
    events_of,
)
from app.store.models.accounts import Account
from app.store.models.batches import Batch, BatchFacts
from app.store.models.benches import Bench, BenchStay
from app.store.models.calendar_feeds import CalendarFeed
from app.store.models.history import HistoryLine
from app.store.models.plant_names import PlantNameRow
from app.store.queries.batch_places import benches_now

MOST_BATCHES: Final = 2_000
_OPEN: Final[ColumnElement[bool]] = literal_column("batch_facts.open") == literal_column("1")


@dataclass(frozen=True, kw_only=True)
class KnownFeed:
    """A calendar address that is in use; `renewals` tells which of its secrets holds."""

    id: int
    person_id: int
    scope: FeedScope
    bench_id: int | None
    bench: str
    renewals: int
    made_at: datetime

    @property
    def words(self) -> str:
        """What it tells of."""
        if self.scope is FeedScope.BENCH:
            return self.bench
        return "all benches" if self.scope is FeedScope.ALL else "what you stuck"


def list_feeds(session: Session, *, person_id: int) -> tuple[KnownFeed, ...]:
    """Return a person's calendar addresses in use, oldest first."""
    query = _feeds().where(CalendarFeed.person_id == person_id).order_by(CalendarFeed.id)
    return tuple(_known(row) for row in session.execute(query))


def find_feed(session: Session, *, feed_id: int) -> KnownFeed | None:
    """Return a calendar address in use whose owner may still sign in; None if there is none."""
    row = session.execute(
        _feeds()
        .join(Account, Account.person_id == CalendarFeed.person_id)
        .where(CalendarFeed.id == feed_id, Account.disabled_at.is_(None))
    ).one_or_none()
    return None if row is None else _known(row)


def read_due_calendar(session: Session, *, feed: KnownFeed, now: datetime) -> DueCalendar:
    """Return the due checks of the open batches a feed tells of, the earliest first."""
    newest = session.execute(
        select(HistoryLine.sequence, HistoryLine.at).order_by(HistoryLine.sequence.desc()).limit(1)
    ).one_or_none()
    rows = session.execute(_batches().where(_OPEN, _of(feed)).limit(MOST_BATCHES)).all()
    places = benches_now(session, batch_ids=[row.batch_id for row in rows])
    events = (event for row in rows for event in _events(row, benches=places.get(row.batch_id, ())))
    return DueCalendar(
        name=f"Strikewell: checks due, {feed.words.replace('you', 'I')}",
        events=tuple(events),
        changes=newest.sequence if newest else 0,
        changed_at=newest.at if newest else now,
    )


def _batches() -> Select[*tuple[Any, ...]]:
    return (
        select(
            BatchFacts.batch_id,
            BatchFacts.stuck,
            BatchFacts.stuck_on,
            BatchFacts.unrooted,
            BatchFacts.next_look_on,
            BatchFacts.next_count_on,
            Batch.code,
            PlantNameRow.plain,
        )
        .join(Batch, Batch.id == BatchFacts.batch_id)
        .join(PlantNameRow, PlantNameRow.id == BatchFacts.plant_name_id)
        .order_by(BatchFacts.due_on, BatchFacts.batch_id)
    )


def _events(row: Row[*tuple[Any, ...]], *, benches: tuple[str, ...]) -> tuple[DueEvent, ...]:
    event = DueEvent(
        code=row.code,
        plant=row.plain,
        kind=EventKind.COUNT,
        due_on=row.stuck_on,
        stuck=row.stuck,
        stuck_on=row.stuck_on,
        unrooted=row.unrooted,
        benches=benches,
    )
    return events_of(event, look_on=row.next_look_on, count_on=row.next_count_on)


def _of(feed: KnownFeed) -> ColumnElement[bool]:
    """Return which batches a feed tells of."""
    if feed.scope is FeedScope.OWN:
        return Batch.stuck_by_id == feed.person_id
    if feed.scope is FeedScope.ALL:
        return true()
    return BatchFacts.batch_id.in_(
        select(BenchStay.batch_id).where(
            BenchStay.bench_id == feed.bench_id,
            BenchStay.to_on.is_(None),
            BenchStay.batch_id.is_not(None),
        )
    )


def _feeds() -> Select[*tuple[Any, ...]]:
    return (
        select(*CalendarFeed.__table__.c, Bench.name.label("bench"))
        .outerjoin(Bench, Bench.id == CalendarFeed.bench_id)
        .where(CalendarFeed.ended_at.is_(None))
    )


def _known(row: Row[*tuple[Any, ...]]) -> KnownFeed:
    return KnownFeed(
        id=row.id,
        person_id=row.person_id,
        scope=FeedScope(row.scope),
        bench_id=row.bench_id,
        bench=row.bench or "",
        renewals=row.renewals,
        made_at=row.made_at,
    )
