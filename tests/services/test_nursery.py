"""The nursery's own record and what hangs on it."""

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.nursery import Hemisphere, NurseryEntry
from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, NotAccepted
from app.services.nursery import correct_nursery
from app.store.models.history import HistoryLine
from app.store.queries.nursery import get_nursery
from tests.conftest import NOW

ENTRY = NurseryEntry(
    name=" Alderholt  Plants ",
    zone="Europe/London",
    hemisphere=Hemisphere.SOUTH,
    medium_word="compost",
)


def test_a_new_nursery_is_northern_and_nameless(session: Session) -> None:
    nursery = get_nursery(session)
    assert (nursery.name, nursery.zone, nursery.hemisphere) == ("", "UTC", Hemisphere.NORTH)


def test_changes_are_kept_and_written_down(session: Session, head: Actor) -> None:
    correct_nursery(session, actor=head, now=NOW, version=1, entry=ENTRY)
    nursery = get_nursery(session)
    assert (nursery.name, nursery.medium_word, nursery.version) == (
        "Alderholt Plants",
        "compost",
        2,
    )
    change = session.scalars(select(HistoryLine.change)).one()
    assert '"zone":["UTC","Europe/London"]' in change


def test_a_history_line_is_no_edit_of_the_nursery(session: Session, head: Actor) -> None:
    correct_nursery(session, actor=head, now=NOW, version=1, entry=ENTRY)
    correct_nursery(session, actor=head, now=NOW, version=2, entry=ENTRY)
    assert get_nursery(session).version == 2


def test_two_editors(session: Session, head: Actor) -> None:
    correct_nursery(session, actor=head, now=NOW, version=1, entry=ENTRY)
    with pytest.raises(ChangedMeanwhile):
        correct_nursery(session, actor=head, now=NOW, version=1, entry=ENTRY)


def test_each_impossible_value_is_named(session: Session, head: Actor) -> None:
    entry = NurseryEntry(
        name="x" * 81, zone="../etc/passwd", hemisphere=Hemisphere.NORTH, medium_word="mud"
    )
    with pytest.raises(NotAccepted) as refused:
        correct_nursery(session, actor=head, now=NOW, version=1, entry=entry)
    assert [p.field for p in refused.value.problems] == ["name", "zone", "medium_word"]
