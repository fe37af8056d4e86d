"""The history is only added to, and its chain shows every edit behind its back."""

from datetime import timedelta

import pytest
from sqlalchemy import select, text
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.services.history import (
    FIRST_HASH,
    Entry,
    canonical_text,
    differences,
    record_change,
    record_changes,
    seal,
)
from app.store.models.history import HistoryLine
from app.store.session import Database
from tests.conftest import NOW


def test_each_line_is_sealed_over_the_line_before(session: Session, head: Actor) -> None:
    record_change(session, actor=head, now=NOW, what="bench added", subject="bench A", change={})
    later = NOW + timedelta(minutes=5)
    edit = {"capacity": [10, 12]}
    record_change(session, actor=None, now=later, what="bench", subject="bench A", change=edit)
    first, second = session.scalars(select(HistoryLine).order_by(HistoryLine.sequence)).all()
    assert (first.previous_hash, second.previous_hash) == (FIRST_HASH, first.hash)
    assert (first.actor_key, second.actor_key) == ("key-of-head", "")
    assert second.hash == seal(
        sequence=2,
        at=later,
        actor_key="",
        what="bench",
        subject="bench A",
        change='{"capacity":[10,12]}',
        previous_hash=first.hash,
    )
    assert session.execute(text("SELECT history_length, history_hash FROM meta")).one() == (
        2,
        second.hash,
    )


def test_many_lines_in_one_go_make_the_same_chain(session: Session, head: Actor) -> None:
    entries = [Entry(what="x", subject=f"bench {n}", change={}) for n in range(4)]
    record_changes(session, actor=head, now=NOW, entries=entries)
    record_changes(session, actor=head, now=NOW, entries=[])
    lines = session.scalars(select(HistoryLine).order_by(HistoryLine.sequence)).all()
    assert [line.previous_hash for line in lines[1:]] == [line.hash for line in lines[:-1]]


@pytest.mark.parametrize(
    "statement", ["DELETE FROM history", "UPDATE history SET what = 'something else'"]
)
def test_a_line_cannot_be_changed(database: Database, head: Actor, statement: str) -> None:
    with database.writing() as session:
        record_change(session, actor=head, now=NOW, what="x", subject="bench A", change={})
    with pytest.raises(IntegrityError, match="only added to"), database.writing() as session:
        session.execute(text(statement))


def test_the_canonical_text_does_not_depend_on_order() -> None:
    assert (
        canonical_text({"b": 1, "a": "é"})
        == canonical_text({"a": "é", "b": 1})
        == ('{"a":"é","b":1}')
    )


def test_only_what_differs_is_written() -> None:
    assert differences({"a": 1, "b": 2}, after={"a": 1, "b": 3, "c": 4}) == {
        "b": [2, 3],
        "c": [None, 4],
    }
