"""Reading the next batch of each open order, for a preparing sheet to begin with."""

from datetime import date
from math import ceil

from sqlalchemy.orm import Session

from app.store.queries.order_plans import PlanBooks, plan_for_order
from app.store.queries.orders import list_open_orders, stuck_by_order


def list_next_batches(
    session: Session, *, books: PlanBooks, today: date
) -> tuple[tuple[str, int], ...]:
    """Return (plant, cuttings) of the next batch of each open order, by the day it is due.

    A batch is an even part of what is to be stuck, and no more than is not stuck yet; orders for
    which no number can be given, or for which enough is stuck, are left out.
    """
    orders = list_open_orders(session)
    stuck = stuck_by_order(session, order_ids=[order.id for order in orders])
    wanted = []
    for order in orders:
        plan = plan_for_order(session, books=books, order=order, today=today)
        if plan.stick is None:
            continue
        left = plan.stick - stuck[order.id]
        if left > 0:
            wanted.append((order.plant, min(left, ceil(plan.stick / order.entry.batches))))
    return tuple(wanted)
