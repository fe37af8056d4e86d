"""Batches that count to orders: counting one to an order, and taking it off again.

A batch counts to one order at most, so that no plant is promised twice.
"""

from datetime import datetime

from sqlalchemy import delete
from sqlalchemy.orm import Session

from app.domain.orders import Order
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.services.history import record_change
from app.services.order_outlooks import forget_outlook
from app.store.models.batches import Batch
from app.store.models.orders import OrderBatch
from app.store.models.plant_names import PlantNameRow
from app.store.queries.batches import find_batch_id
from app.store.queries.orders import find_order_of_batch, get_order


def count_to_order(session: Session, *, actor: Actor, now: datetime, number: int, code: str) -> str:
    """Let the batch of this code count to an order, and return the code as it is written.

    Raises:
        NotAccepted: at "batch", there is no such batch, it is void, of another plant, or counts
            to an order already; at "order", the order is not open.
        NotFound: there is no such order.
    """
    order = get_order(session, number=number)
    if not order.is_open:
        raise NotAccepted.at(
            "order", f"Order {number} is {order.state.value}: open it again first."
        )
    batch_id = find_batch_id(session, code=code)
    batch = None if batch_id is None else session.get(Batch, batch_id)
    if batch is None:
        raise NotAccepted.at("batch", f"There is no batch {code.strip() or 'without a code'}.")
    _refuse_unfitting(session, batch, order=order)
    session.add(OrderBatch(batch_id=batch.id, order_id=order.id))
    session.flush()
    _changed(session, order, actor=actor, now=now, before="", after=batch.code)
    return batch.code


def count_stuck(session: Session, *, actor: Actor, now: datetime, number: int, code: str) -> None:
    """Let a batch that was just stuck count to an order.

    Raises:
        NotAccepted: at "order", it does not fit.
        NotFound: there is no such order.
    """
    try:
        count_to_order(session, actor=actor, now=now, number=number, code=code)
    except NotAccepted as refusal:
        # Whoever sticks chose the order: the batch itself is as it should be.
        raise NotAccepted.at("order", _without_code(refusal, code=code)) from None


def _without_code(refusal: NotAccepted, *, code: str) -> str:
    """Return the sentence without the code, which a batch that is not saved never had."""
    return str(refusal).replace(code, "This batch")


def take_off_order(session: Session, *, actor: Actor, now: datetime, number: int, code: str) -> str:
    """Let a batch no longer count to an order, and return its code.

    Raises:
        NotAccepted: it does not count to it.
        NotFound: there is no such order.
    """
    order = get_order(session, number=number)
    batch_id = find_batch_id(session, code=code)
    counted = None if batch_id is None else find_order_of_batch(session, batch_id=batch_id)
    if batch_id is None or counted is None or counted.id != order.id:
        raise NotAccepted.at("", f"{code} does not count to order {number}.")
    batch = session.get_one(Batch, batch_id)
    session.execute(delete(OrderBatch).where(OrderBatch.batch_id == batch_id))
    _changed(session, order, actor=actor, now=now, before=batch.code, after="")
    return batch.code


def _refuse_unfitting(session: Session, batch: Batch, *, order: Order) -> None:
    if batch.voided_at is not None:
        raise NotAccepted.at("batch", f"{batch.code} is void.")
    name = session.get_one(PlantNameRow, batch.plant_name_id)
    if not order.takes(plant_name_id=name.id, genus_id=name.genus_id):
        sentence = f"{batch.code} is {name.plain}, and {order.plant} is wanted."
        raise NotAccepted.at("batch", sentence)
    counted = find_order_of_batch(session, batch_id=batch.id)
    if counted is not None:
        sentence = (
            f"{batch.code} counts to order {counted.number} already: take it off there first."
        )
        raise NotAccepted.at("batch", sentence)


def _changed(
    session: Session, order: Order, *, actor: Actor, now: datetime, before: str, after: str
) -> None:
    forget_outlook(session, order_id=order.id)
    what = "batch counts to it" if after else "batch no longer counts to it"
    record_change(
        session,
        actor=actor,
        now=now,
        what=what,
        subject=order.name,
        change={"batch": [before, after]},
    )
