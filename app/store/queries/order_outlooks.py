"""Working out how orders stand from what is stored; loads numpy."""

from collections.abc import Mapping, Sequence
from datetime import date

from sqlalchemy.orm import Session

from app.domain.fit_records import BatchToForecast, type_code
from app.domain.order_notices import OrderOutlook
from app.domain.order_outlooks import OrderedBatch, order_outlook
from app.domain.order_plans import OrderPlan
from app.domain.orders import Order
from app.store.queries.checks import counts_by_batch
from app.store.queries.fits import find_fit
from app.store.queries.order_plans import PlanBooks, plan_for_order, read_plan_books
from app.store.queries.order_progress import list_ordered_batches
from app.store.queries.orders import get_order


def read_order_outlooks(
    session: Session, *, numbers: Sequence[int], today: date
) -> Mapping[int, OrderOutlook]:
    """Return how each of these orders stands, by the order's id, from what was last learned."""
    stored = find_fit(session)
    books = read_plan_books(session, fit=stored.fit if stored else None)
    orders = [get_order(session, number=number) for number in numbers]
    return {
        order.id: outlook_of_order(
            session,
            books=books,
            order=order,
            plan=plan_for_order(session, books=books, order=order, today=today),
            today=today,
        )
        for order in orders
    }


def outlook_of_order(
    session: Session, *, books: PlanBooks, order: Order, plan: OrderPlan, today: date
) -> OrderOutlook:
    """Return how an order stands; `plan` is the answer to it as it was entered."""
    lines = list_ordered_batches(session, order_id=order.id)
    checks = counts_by_batch(session, batch_ids=[line.batch_id for line in lines])
    batches = [
        OrderedBatch(
            batch=BatchToForecast(
                batch_id=line.batch_id,
                genus=line.genus_id,
                cutting_type=type_code(line.cutting_type),
                stuck_on=line.stuck_on,
                stuck=line.standing.stuck,
            ),
            checks=checks.get(line.batch_id, ()),
            standing=line.standing,
            potted=line.potted,
        )
        for line in lines
    ]
    return order_outlook(books.fit, plan=plan, batches=batches, today=today)
