"""Codes that work once, for an hour."""

from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.services.one_time_codes import code_fits, make_code, make_first_code, use_code
from app.services.people import shut_out
from app.store.models.accounts import Account, OneTimeCode
from app.store.models.history import HistoryLine
from tests.conftest import NOW


def test_a_code_is_stored_as_a_hash_only(session: Session, head: Actor) -> None:
    code = make_code(session, actor=head, account_id=2, now=NOW)
    row = session.scalars(select(OneTimeCode)).one()
    assert len(row.code_hash) == 64
    assert code not in row.code_hash
    assert row.expires_at - NOW == timedelta(minutes=60)
    line = session.scalars(select(HistoryLine)).one()
    assert (line.what, line.subject) == ("one-time code made", "person key-of-trainee")
    assert code not in line.change


def test_codes_differ_and_are_easy_to_read_out(session: Session, head: Actor) -> None:
    codes = {make_code(session, actor=head, account_id=2, now=NOW) for _ in range(50)}
    assert len(codes) == 50
    assert not set("".join(codes)) & set("01ILO")


@pytest.mark.parametrize("typed", ["{}", " {} ", "lower", "spaces"])
def test_a_code_may_be_typed_loosely(session: Session, head: Actor, typed: str) -> None:
    code = make_code(session, actor=head, account_id=2, now=NOW)
    loose = {"lower": code.lower(), "spaces": code.replace("-", " ")}.get(typed, typed.format(code))
    assert code_fits(session, code=loose, account_id=2, now=NOW)


def test_a_code_works_once(session: Session, head: Actor) -> None:
    code = make_code(session, actor=head, account_id=2, now=NOW)
    use_code(session, code=code, account_id=2, now=NOW)
    with pytest.raises(NotAccepted, match="does not work"):
        use_code(session, code=code, account_id=2, now=NOW)


def test_a_code_lasts_just_under_an_hour(session: Session, head: Actor) -> None:
    code = make_code(session, actor=head, account_id=2, now=NOW)
    last = NOW + timedelta(minutes=60)
    assert code_fits(session, code=code, account_id=2, now=last - timedelta(seconds=1))
    assert not code_fits(session, code=code, account_id=2, now=last)


def test_a_code_is_for_one_purpose(session: Session, head: Actor) -> None:
    code = make_code(session, actor=head, account_id=2, now=NOW)
    assert not code_fits(session, code=code, account_id=None, now=NOW)
    assert not code_fits(session, code=code, account_id=1, now=NOW)
    assert not code_fits(session, code="", account_id=2, now=NOW)


def test_no_first_code_once_a_head_can_sign_in(session: Session) -> None:
    assert make_first_code(session, now=NOW) is None
    session.get_one(Account, 1).password_hash = ""
    session.flush()
    first, second = (make_first_code(session, now=NOW) for _ in range(2))
    assert first
    assert second
    assert not code_fits(session, code=first, account_id=None, now=NOW)
    assert code_fits(session, code=second, account_id=None, now=NOW)


def test_no_code_for_somebody_shut_out(session: Session, head: Actor) -> None:
    shut_out(session, actor=head, now=NOW, key="key-of-trainee")
    with pytest.raises(NotAccepted):
        make_code(session, actor=head, account_id=2, now=NOW)
    with pytest.raises(NotAccepted):
        make_code(session, actor=head, account_id=99, now=NOW)
