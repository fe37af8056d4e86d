"""Counting batches to orders, and taking them off."""

from datetime import date

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.orders import OrderEntry
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.services.batches import void_batch
from app.services.order_batches import count_stuck, count_to_order, take_off_order
from app.services.orders import add_order, keep_wanted_plant
from app.store.models.history import HistoryLine
from app.store.queries.order_progress import list_countable_batches, list_ordered_batches
from app.store.queries.orders import get_order
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant
from tests.services.check_records import check, said, stick

DUE = date(2027, 6, 1)


def order(session: Session, head: Actor, typed: str = "Hebe 'Great Orme'") -> int:
    wanted = keep_wanted_plant(session, actor=head, now=NOW, typed=typed)
    entry = OrderEntry(
        plants=50, due_on=DUE, plant_name_id=wanted.plant_name_id, genus_id=wanted.genus_id
    )
    return add_order(session, actor=head, today=TODAY, now=NOW, entry=entry)


def test_a_batch_counts_to_an_order_and_is_taken_off(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    check(session, head, batch, said(7, rooted=40))
    number = order(session, head)
    assert count_to_order(session, actor=head, now=NOW, number=number, code="26-1") == batch.code
    known = get_order(session, number=number)
    (line,) = list_ordered_batches(session, order_id=known.id)
    assert (line.code, line.standing.rooted, line.standing.unrooted) == (batch.code, 40, 56)
    assert list_countable_batches(session, order=known) == ()
    told = session.scalars(select(HistoryLine).where(HistoryLine.subject == "order 1")).all()
    assert told[-1].change == f'{{"batch":["","{batch.code}"]}}'
    take_off_order(session, actor=head, now=NOW, number=number, code=batch.code)
    assert list_ordered_batches(session, order_id=known.id) == ()
    assert [one[0] for one in list_countable_batches(session, order=known)] == [batch.code]
    with pytest.raises(NotAccepted, match="does not count to order 1"):
        take_off_order(session, actor=head, now=NOW, number=number, code=batch.code)


def test_a_batch_counts_to_one_order_at_most(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    first, second = order(session, head), order(session, head, "Hebe")
    count_to_order(session, actor=head, now=NOW, number=first, code=batch.code)
    with pytest.raises(NotAccepted, match="counts to order 1 already") as refused:
        count_to_order(session, actor=head, now=NOW, number=second, code=batch.code)
    assert refused.value.problems[0].field == "batch"


def test_what_does_not_fit_is_refused(session: Session, head: Actor) -> None:
    stick(session, head)
    other = stick(session, head, plant=add_plant(session, "Cistus × purpureus"))
    number = order(session, head)
    for code, sentence in (
        (other.code, "is Cistus × purpureus, and Hebe 'Great Orme' is wanted"),
        ("26-9999", "There is no batch 26-9999."),
        ("", "There is no batch without a code."),
    ):
        with pytest.raises(NotAccepted, match=sentence):
            count_to_order(session, actor=head, now=NOW, number=number, code=code)
    with pytest.raises(NotAccepted, match="This batch is Cistus") as refused:
        count_stuck(session, actor=head, now=NOW, number=number, code=other.code)
    assert refused.value.problems[0].field == "order"


def test_a_void_batch_counts_to_nothing(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    number = order(session, head)
    count_to_order(session, actor=head, now=NOW, number=number, code=batch.code)
    void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=batch.id, reason="entered twice")
    known = get_order(session, number=number)
    assert list_ordered_batches(session, order_id=known.id) == ()
    take_off_order(session, actor=head, now=NOW, number=number, code=batch.code)
    with pytest.raises(NotAccepted, match="is void"):
        count_to_order(session, actor=head, now=NOW, number=number, code=batch.code)
