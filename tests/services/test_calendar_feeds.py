"""Calendar addresses: their secrets, renewing, ending, and who no longer reads."""

from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.calendar_feeds import FeedScope
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.services.bench_walks import walk_bench
from app.services.calendar_feeds import (
    MOST_FEEDS,
    calendar_place,
    end_feed,
    feed_token,
    make_feed,
    open_feed,
    renew_feed,
)
from app.store.models.accounts import Account
from app.store.queries.calendar_feeds import list_feeds, read_due_calendar
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_bench, add_plant
from tests.services.check_records import check, said, stick

KEY = "the program's key"


def token_of(session: Session, actor: Actor, feed_id: int) -> str:
    known = {feed.id: feed for feed in list_feeds(session, person_id=actor.person_id)}
    return feed_token(known[feed_id], key=KEY)


def make(session: Session, actor: Actor, scope: FeedScope = FeedScope.ALL, **more: int) -> int:
    return make_feed(session, actor=actor, now=NOW, scope=scope, **more)


def test_an_address_opens_its_feed_and_nothing_else_does(session: Session, head: Actor) -> None:
    feed_id = make(session, head)
    token = token_of(session, head, feed_id)
    assert open_feed(session, token=token, key=KEY).id == feed_id
    wrong = [
        "", "-", "1", "1-", f"{feed_id}-{'A' * 32}", f"{feed_id + 1}-{token.partition('-')[2]}",
        token[:-1], f"{token}A", token.swapcase(), f"{'9' * 40}-x", "²-x", "1-ä",
    ]  # fmt: skip
    for typed in wrong:
        with pytest.raises(NotFound):
            open_feed(session, token=typed, key=KEY)
    with pytest.raises(NotFound):
        open_feed(session, token=token, key="another log's key")


def test_the_secret_is_long_and_lies_in_no_table(session: Session, head: Actor) -> None:
    feed_id = make(session, head)
    secret = token_of(session, head, feed_id).partition("-")[2]
    # 24 bytes: 192 bits, more than the 128 that OWASP ASVS 5.0.0 asks for (from memory).
    assert len(secret) == 32
    dump = "\n".join(session.connection().connection.iterdump())  # type: ignore[attr-defined]
    assert "calendar_feeds" in dump
    assert secret not in dump


def test_a_renewed_address_is_new_and_the_old_one_dies(session: Session, head: Actor) -> None:
    feed_id = make(session, head)
    old = token_of(session, head, feed_id)
    renew_feed(session, actor=head, now=NOW, feed_id=feed_id)
    new = token_of(session, head, feed_id)
    assert new != old
    assert open_feed(session, token=new, key=KEY).renewals == 1
    with pytest.raises(NotFound):
        open_feed(session, token=old, key=KEY)


def test_an_ended_one_and_that_of_a_leaver_answer_nobody(
    session: Session, head: Actor, trainee: Actor
) -> None:
    feed_id = make(session, head)
    token = token_of(session, head, feed_id)
    end_feed(session, actor=head, now=NOW, feed_id=feed_id)
    assert list_feeds(session, person_id=head.person_id) == ()
    with pytest.raises(NotFound):
        open_feed(session, token=token, key=KEY)
    other = token_of(session, trainee, make(session, trainee))
    account = session.scalars(select(Account).where(Account.person_id == trainee.person_id)).one()
    account.disabled_at = NOW
    session.flush()
    with pytest.raises(NotFound):
        open_feed(session, token=other, key=KEY)


def test_nobody_changes_anothers_address(session: Session, head: Actor, trainee: Actor) -> None:
    feed_id = make(session, head)
    for change in (renew_feed, end_feed):
        with pytest.raises(NotFound):
            change(session, actor=trainee, now=NOW, feed_id=feed_id)
        with pytest.raises(NotFound):
            change(session, actor=trainee, now=NOW, feed_id=999)


def test_a_wrong_bench_and_too_many_are_refused(session: Session, head: Actor) -> None:
    for bench_id in (None, 99):
        with pytest.raises(NotAccepted):
            make(session, head, FeedScope.BENCH, bench_id=bench_id)  # type: ignore[arg-type]
    for _ in range(MOST_FEEDS):
        make(session, head)
    with pytest.raises(NotAccepted, match="end one first"):
        make(session, head)


def test_each_tells_of_its_own_batches(session: Session, head: Actor, trainee: Actor) -> None:
    plant = add_plant(session)
    mist, frame = add_bench(session, "Mist bench 2"), add_bench(session, "Cold frame")
    here = stick(session, head, plant=plant, bench_id=mist, stuck_by_id=head.person_id)
    there = stick(session, head, plant=plant, bench_id=frame, stuck_by_id=trainee.person_id)
    done = stick(session, head, plant=plant, bench_id=mist)
    check(session, head, done, said(1, rooted=96))
    for actor, scope, more, codes in (
        (head, FeedScope.ALL, {}, {here.code, there.code}),
        (head, FeedScope.OWN, {}, {here.code}),
        (trainee, FeedScope.OWN, {}, {there.code}),
        (head, FeedScope.BENCH, {"bench_id": frame}, {there.code}),
    ):
        feed = open_feed(
            session,
            token=token_of(session, actor, make(session, actor, scope, **more)),
            key=KEY,
        )
        due = read_due_calendar(session, feed=feed, now=NOW)
        assert {event.code for event in due.events} == codes
    assert {event.benches for event in due.events} == {("Cold frame",)}


def test_a_check_that_is_put_off_keeps_its_key_and_counts_up(session: Session, head: Actor) -> None:
    plant, mist = add_plant(session), add_bench(session, "Mist bench 2")
    stick(session, head, plant=plant, bench_id=mist)
    make(session, head)
    (feed,) = list_feeds(session, person_id=head.person_id)
    before = read_due_calendar(session, feed=feed, now=NOW)
    walk_bench(session, actor=head, today=TODAY, now=NOW, bench_id=mist, walked_on=TODAY)
    session.flush()
    after = read_due_calendar(session, feed=feed, now=NOW + timedelta(hours=1))
    assert after.changes > before.changes
    keys = [[event.key for event in due.events] for due in (before, after)]
    assert all(len(set(each)) == len(each) for each in keys)
    moved = {event.key: event.due_on for event in after.events}
    assert (
        any(event.key in moved and moved[event.key] != event.due_on for event in before.events)
        or keys[0] != keys[1]
    )


def test_ids_of_events_end_alike_in_one_log_and_differ_between_logs() -> None:
    assert calendar_place(key=KEY) == calendar_place(key=KEY)
    assert calendar_place(key=KEY) != calendar_place(key="another")
    assert calendar_place(key=KEY).isascii()
