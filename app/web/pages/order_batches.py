"""Pages on which a batch is counted to an order, and taken off it again."""

from flask import Blueprint, Response, render_template, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.permissions import Permission
from app.services.order_batches import count_to_order, take_off_order
from app.store.queries.order_progress import list_countable_batches
from app.store.queries.orders import get_order
from app.web.forms.order_batches import OrderBatchForm
from app.web.permissions import allow
from app.web.requests import actor, db, now, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("order_batches", __name__, url_prefix="/plan/orders")


@blueprint.route("/<int:number>/batches/new", methods=["GET", "POST"])
@allow(Permission.KEEP_ORDERS)
def create(number: int) -> ResponseReturnValue:
    """Count a batch to an order that was stuck without one."""
    order = get_order(db(), number=number)
    form = OrderBatchForm()

    def count(session: Session) -> Saved:
        code = count_to_order(
            session, actor=actor(), now=now(), number=number, code=form.batch.data or ""
        )
        return Saved(
            location=url_for("orders.show", number=number),
            message=f"{code} counts to order {number}.",
            undo=url_for("order_batches.take_off", number=number, code=code),
            next=url_for("order_batches.create", number=number),
            next_words="Another batch",
        )

    answer = submit(form, count)
    return answer or (
        render_template(
            "order_batches/new.html",
            form=form,
            order=order,
            countable=list_countable_batches(db(), order=order),
            today=today(),
        ),
        status_of(form),
    )


@blueprint.route("/<int:number>/batches/<code>/take-off", methods=["POST"])
@allow(Permission.KEEP_ORDERS)
def take_off(number: int, code: str) -> Response:
    """Let a batch no longer count to an order."""

    def save(session: Session) -> Saved:
        taken = take_off_order(session, actor=actor(), now=now(), number=number, code=code)
        return Saved(
            location=url_for("orders.show", number=number),
            message=f"{taken} no longer counts to order {number}.",
        )

    return press(save)
