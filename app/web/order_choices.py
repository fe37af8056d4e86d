"""The open orders as a list to choose from where a batch is stuck."""

from collections.abc import Iterable, Sequence
from datetime import date

from wtforms import SelectChoice

from app.domain.days import day_short
from app.domain.orders import Order
from app.domain.problems import NotAccepted


def order_choices(orders: Sequence[Order], *, today: date) -> list[SelectChoice]:
    """Return the orders by the day they are due, none first."""
    return [
        SelectChoice("", "none"),
        *(SelectChoice(str(order.number), _words(order, today=today)) for order in orders),
    ]


def chosen_order(typed: str, *, choices: Iterable[SelectChoice]) -> int | None:
    """Return the number of the order chosen, None where none is.

    Raises:
        NotAccepted: at "order", it is none of the choices.
    """
    if not typed:
        return None
    if typed not in {str(choice.value) for choice in choices}:
        raise NotAccepted.at("order", "Choose one from the list.")
    return int(typed)


def _words(order: Order, *, today: date) -> str:
    due = day_short(order.entry.due_on, today=today)
    return f"{order.number}: {order.entry.plants:,} {order.plant} by {due}"
