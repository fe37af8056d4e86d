"""A roll of labels printed ahead, the first of them in use, and a calendar of due checks."""

from typing import Final

from sqlalchemy import select

from app.domain.calendar_feeds import FeedScope
from app.services.calendar_feeds import make_feed
from app.services.label_numbers import put_label_on, reserve_label_numbers
from app.store.models.batches import Batch
from app.store.session import Database
from seed_demo.desk import Desk, instant
from seed_demo.places import HEAD

ROLL: Final = 60
IN_USE: Final = 4


def tell_labels(database: Database, desk: Desk) -> None:
    """Tell the roll in the head's pocket, and what stands in the calendar."""
    now = instant(desk.today, 6, 50)
    head = desk.writer(HEAD)
    with database.writing() as session:
        reserve_label_numbers(session, actor=head, now=now, number=ROLL)
        newest = session.scalars(
            select(Batch.code)
            .where(Batch.voided_at.is_(None))
            .order_by(Batch.stuck_on.desc(), Batch.number.desc())
            .limit(IN_USE)
        )
        for number, code in enumerate(sorted(newest), start=1):
            put_label_on(session, actor=head, now=now, typed=f"N-{number:04d}", batch_code=code)
        make_feed(session, actor=head, now=now, scope=FeedScope.ALL)
