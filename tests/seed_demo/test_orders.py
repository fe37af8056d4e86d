"""The orders of the demo: each kind of standing is there to be seen."""

from app.domain.orders import OrderState
from app.store.queries.order_progress import (
    list_ordered_batches,
    list_orders_to_work_out,
    list_unlikely_orders,
    outlooks_by_order,
)
from app.store.queries.orders import list_orders
from app.store.session import Database
from seed_demo.orders import ORDERS
from tests.conftest import TODAY


def test_some_are_met_some_likely_and_one_has_become_unlikely(told_database: Database) -> None:
    with told_database.reading() as session:
        orders = list_orders(session)
        outlooks = outlooks_by_order(session, order_ids=[order.id for order in orders])
        unlikely = list_unlikely_orders(session)
        assert list_orders_to_work_out(session, today=TODAY) == ()
        counted = [len(list_ordered_batches(session, order_id=order.id)) for order in orders]
    assert len(orders) == len(ORDERS)
    assert {order.state for order in orders} == set(OrderState)
    chances = [outlook.chance for outlook in outlooks.values()]
    assert all(chance is not None for chance in chances)
    assert any((chance or 0.0) > 0.9 for chance in chances)
    assert 1 <= len(unlikely) <= 2
    assert max(counted) >= 3
