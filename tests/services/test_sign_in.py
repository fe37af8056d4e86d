"""The steps of a try at the door, and sessions."""

from datetime import timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.services.sign_in import (
    begin_session,
    begin_try,
    end_session,
    end_sessions_of,
    end_try,
    mark_seen,
    token_hash,
    write_wrong_try,
)
from app.store.models.accounts import Account, SessionRow, SignInEvent
from app.store.queries.accounts import find_open_session, wrong_tries
from tests.conftest import NOW


def _is_open(session: Session, token: str) -> bool:
    return find_open_session(session, token_hash=token_hash(token), now=NOW) is not None


def test_a_right_try_opens_a_session(session: Session) -> None:
    tried = begin_try(session, name="tomas quill", address="192.0.2.1", now=NOW)
    token = end_try(session, tried=tried, matched=True, now=NOW)
    assert token
    found = find_open_session(session, token_hash=token_hash(token), now=NOW)
    assert found
    assert (found.actor.name, found.actor.person_key) == ("Tomas Quill", "key-of-trainee")


def test_many_tries_begun_together_gain_nothing(session: Session) -> None:
    """All read before any was written down; the wait is looked at again in the transaction."""
    tries = [begin_try(session, name="tomas quill", address="192.0.2.1", now=NOW)] * 8
    for tried in tries:
        assert end_try(session, tried=tried, matched=False, now=NOW) is None
    assert end_try(session, tried=tries[0], matched=True, now=NOW) is None
    assert wrong_tries(session, now=NOW, name_mark="key-of-trainee").number == 5


def test_an_account_shut_or_changed_meanwhile_lets_nobody_in(session: Session) -> None:
    account = session.get_one(Account, 2)
    for change in ("disabled_at", "password_hash"):
        tried = begin_try(session, name="tomas quill", address="192.0.2.1", now=NOW)
        setattr(account, change, NOW if change == "disabled_at" else "another hash")
        session.flush()
        assert end_try(session, tried=tried, matched=True, now=NOW) is None
        account.disabled_at = None


def test_an_account_without_password_lets_nobody_in(session: Session) -> None:
    session.get_one(Account, 2).password_hash = ""
    session.flush()
    tried = begin_try(session, name="tomas quill", address="192.0.2.1", now=NOW)
    assert (tried.account_id, tried.password_hash) == (None, "")
    assert end_try(session, tried=tried, matched=True, now=NOW) is None


def test_wrong_tries_are_counted_since_the_last_right_one_and_for_a_day(session: Session) -> None:
    def wrong(hours: int) -> None:
        at = NOW + timedelta(hours=hours)
        tried = begin_try(session, name="tomas quill", address="192.0.2.1", now=at)
        write_wrong_try(session, tried=tried, now=at)

    def number(hours: int) -> int:
        at = NOW + timedelta(hours=hours)
        return wrong_tries(session, now=at, name_mark="key-of-trainee").number

    wrong(0)
    wrong(1)
    assert [number(1), number(23), number(24), number(25)] == [2, 2, 1, 0]
    at = NOW + timedelta(hours=2)
    tried = begin_try(session, name="tomas quill", address="192.0.2.1", now=at)
    end_try(session, tried=tried, matched=True, now=at)
    wrong(3)
    assert number(3) == 1


def test_tries_dated_in_the_future_by_a_wrong_clock_do_not_count(session: Session) -> None:
    ahead = NOW + timedelta(days=300)
    for _ in range(9):
        tried = begin_try(session, name="tomas quill", address="192.0.2.1", now=ahead)
        write_wrong_try(session, tried=tried, now=ahead)
    back = begin_try(session, name="tomas quill", address="192.0.2.1", now=NOW)
    assert back.free_again_at is None


def test_only_the_session_meant_is_ended(session: Session) -> None:
    tokens = [begin_session(session, account_id=account, now=NOW) for account in (1, 2, 2)]
    assert len(set(tokens)) == 3
    end_session(session, token=tokens[1], now=NOW, why="signed out")
    assert [_is_open(session, token) for token in tokens] == [True, False, True]
    end_sessions_of(session, account_id=2, now=NOW + timedelta(hours=1), why="password changed")
    assert [_is_open(session, token) for token in tokens] == [True, False, False]
    # The first reason and instant of an end stay.
    whys = session.scalars(select(SessionRow.ended_why).order_by(SessionRow.ended_why)).all()
    assert whys == ["", "password changed", "signed out"]


def test_an_ended_session_is_not_seen_again(session: Session) -> None:
    token = begin_session(session, account_id=2, now=NOW)
    end_session(session, token=token, now=NOW, why="signed out")
    mark_seen(session, token=token, now=NOW + timedelta(hours=1))
    assert session.scalars(select(SessionRow.seen_at)).one() == NOW


def test_an_event_holds_a_mark_and_an_address(session: Session) -> None:
    tried = begin_try(session, name="Ines Farrow", address="192.0.2.1", now=NOW)
    end_try(session, tried=tried, matched=True, now=NOW)
    event = session.scalars(select(SignInEvent)).one()
    assert (event.name_key, event.address, event.outcome) == ("key-of-head", "192.0.2.1", "right")


def test_who_came_from_where_is_forgotten_after_90_days(session: Session) -> None:
    def enter(days: int) -> None:
        at = NOW + timedelta(days=days)
        tried = begin_try(session, name="Ines Farrow", address="192.0.2.1", now=at)
        end_try(session, tried=tried, matched=True, now=at)

    def kept() -> list[int]:
        return [len(session.scalars(select(model)).all()) for model in (SessionRow, SignInEvent)]

    enter(0)
    enter(90)
    assert kept() == [2, 2]
    enter(91)
    assert kept() == [2, 2]
