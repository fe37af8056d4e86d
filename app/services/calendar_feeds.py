"""Calendar addresses and their secrets: making one, renewing it, ending it."""

import hashlib
import hmac
from base64 import urlsafe_b64encode
from datetime import datetime
from typing import Final

from sqlalchemy.orm import Session

from app.domain.calendar_feeds import FeedScope
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.services.history import record_change
from app.store.models.benches import Bench
from app.store.models.calendar_feeds import CalendarFeed
from app.store.queries.calendar_feeds import KnownFeed, find_feed, list_feeds

MOST_FEEDS: Final = 20
_BYTES: Final = 24
_PLACE_LETTERS: Final = 12


def make_feed(
    session: Session,
    *,
    actor: Actor,
    now: datetime,
    scope: FeedScope,
    bench_id: int | None = None,
) -> int:
    """Make a calendar address for the person and return its id.

    Raises:
        NotAccepted: at "scope", there is no such bench, or the person has very many already.
    """
    if scope is FeedScope.BENCH and (bench_id is None or session.get(Bench, bench_id) is None):
        raise NotAccepted.at("scope", "Choose one from the list.")
    if len(list_feeds(session, person_id=actor.person_id)) >= MOST_FEEDS:
        raise NotAccepted.at("scope", f"You have {MOST_FEEDS} addresses already: end one first.")
    row = CalendarFeed(
        person_id=actor.person_id,
        scope=str(scope),
        bench_id=bench_id if scope is FeedScope.BENCH else None,
        renewals=0,
        made_at=now,
    )
    session.add(row)
    session.flush()
    _changed(session, actor=actor, now=now, what="calendar address made")
    return row.id


def renew_feed(session: Session, *, actor: Actor, now: datetime, feed_id: int) -> None:
    """Give a calendar address of the person's own a new secret; the old address answers no more.

    Raises:
        NotFound: the person has no such address.
    """
    _own(session, actor=actor, feed_id=feed_id).renewals += 1
    session.flush()
    _changed(session, actor=actor, now=now, what="calendar address renewed")


def end_feed(session: Session, *, actor: Actor, now: datetime, feed_id: int) -> None:
    """End a calendar address of the person's own.

    Raises:
        NotFound: the person has no such address.
    """
    _own(session, actor=actor, feed_id=feed_id).ended_at = now
    session.flush()
    _changed(session, actor=actor, now=now, what="calendar address ended")


def feed_token(feed: KnownFeed, *, key: str) -> str:
    """Return the secret part of a feed's address, worked out from the program's key."""
    seal = _sealed(f"calendar feed {feed.id} {feed.renewals}", key=key)
    return f"{feed.id}-{urlsafe_b64encode(seal[:_BYTES]).decode()}"


def open_feed(session: Session, *, token: str, key: str) -> KnownFeed:
    """Return the feed of this secret.

    Raises:
        NotFound: it opens nothing, or no longer.
    """
    typed = token.partition("-")[0]
    # Longer ones are numbers of nothing, and too much for the database.
    known = typed.isascii() and typed.isdecimal() and len(typed) <= _PLACE_LETTERS
    feed = find_feed(session, feed_id=int(typed)) if known else None
    if feed is None or not hmac.compare_digest(feed_token(feed, key=key).encode(), token.encode()):
        raise NotFound("There is no calendar at this address, or no longer. Make a new one.")
    return feed


def calendar_place(*, key: str) -> str:
    """Return what the ids of this log's events end in: the same always, and no other log's."""
    return f"{_sealed('calendar', key=key).hex()[:_PLACE_LETTERS]}.strikewell.invalid"


def _sealed(text: str, *, key: str) -> bytes:
    return hmac.new(key.encode(), text.encode(), hashlib.sha256).digest()


def _own(session: Session, *, actor: Actor, feed_id: int) -> CalendarFeed:
    row = session.get(CalendarFeed, feed_id)
    if row is None or row.person_id != actor.person_id or row.ended_at is not None:
        raise NotFound("You have no such calendar address.")
    return row


def _changed(session: Session, *, actor: Actor, now: datetime, what: str) -> None:
    record_change(session, actor=actor, now=now, what=what, subject="calendar", change={})
