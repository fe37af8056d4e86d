"""Setting the address that the codes on labels lead to."""

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, NotAccepted
from app.services.labels import set_label_address
from app.store.models.history import HistoryLine
from app.store.queries.labels import get_label_address
from tests.conftest import NOW


def test_it_is_set_changed_and_left_to_the_program_again(session: Session, head: Actor) -> None:
    assert get_label_address(session).address == ""
    set_label_address(session, actor=head, now=NOW, version=1, address="shed.local:8321/")
    session.flush()
    known = get_label_address(session)
    assert known.address == "http://shed.local:8321"
    set_label_address(session, actor=head, now=NOW, version=known.version, address=" ")
    session.flush()
    assert get_label_address(session).address == ""
    said = session.scalars(select(HistoryLine.what).order_by(HistoryLine.sequence)).all()
    assert said.count("address on labels set") == 2


def test_a_stale_or_wrong_one_is_refused(session: Session, head: Actor) -> None:
    with pytest.raises(NotAccepted):
        set_label_address(session, actor=head, now=NOW, version=1, address="not here")
    set_label_address(session, actor=head, now=NOW, version=1, address="http://a")
    session.flush()
    with pytest.raises(ChangedMeanwhile):
        set_label_address(session, actor=head, now=NOW, version=1, address="http://b")
