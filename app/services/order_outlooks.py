"""How the open orders stand, worked out once a day and after the batches changed, and kept.

The sums are done outside any writing transaction; numpy is loaded only where there is an order
to work out.
"""

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import delete, insert
from sqlalchemy.orm import Session

from app.domain.order_notices import OrderOutlook
from app.store.models.orders import OrderOutlookRow
from app.store.queries.order_progress import get_data_version, list_orders_to_work_out

if TYPE_CHECKING:
    from app.store.session import Database


def watch_orders(database: "Database", *, today: date) -> None:
    """Work out how each open order stands and keep it, unless that was done for these batches."""
    with database.reading() as session:
        numbers = list_orders_to_work_out(session, today=today)
        if not numbers:
            return
        from app.store.queries.order_outlooks import read_order_outlooks  # noqa: PLC0415 - numpy

        version = get_data_version(session)
        outlooks = read_order_outlooks(session, numbers=numbers, today=today)
    with database.writing() as session:
        keep_outlooks(session, outlooks=outlooks, data_version=version, today=today)


def keep_outlooks(
    session: Session, *, outlooks: Mapping[int, OrderOutlook], data_version: int, today: date
) -> None:
    """Store each order's outlook, by the order's id, in place of its last one."""
    if not outlooks:
        return
    session.execute(delete(OrderOutlookRow).where(OrderOutlookRow.order_id.in_(list(outlooks))))
    rows = [
        outlook_values(outlook)
        | {"order_id": order_id, "data_version": data_version, "worked_out_on": today}
        for order_id, outlook in outlooks.items()
    ]
    session.execute(insert(OrderOutlookRow.__table__), rows)  # type: ignore[arg-type]


def outlook_values(outlook: OrderOutlook) -> dict[str, object]:
    """Return the columns of an outlook that are worked out."""
    mend = outlook.mend
    return {
        "batches": outlook.batches,
        "stuck": outlook.stuck,
        "rooted": outlook.rooted,
        "unrooted": outlook.unrooted,
        "potted": outlook.potted,
        "chance": outlook.chance,
        "expected": outlook.expected,
        "low": outlook.low,
        "high": outlook.high,
        "unlikely": int(outlook.unlikely),
        "mend_stick": mend.stick if mend else None,
        "mend_by_on": mend.by_on if mend else None,
        "mend_refusal": mend.refusal.value if mend and mend.refusal else "",
    }


def forget_outlook(session: Session, *, order_id: int) -> None:
    """Forget how an order stood, because it, or what counts to it, has changed."""
    session.execute(delete(OrderOutlookRow).where(OrderOutlookRow.order_id == order_id))
