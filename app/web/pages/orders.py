"""Pages of the orders: what is wanted, each by itself, new, correct, end and open again."""

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from flask import Blueprint, Response, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.hormones import parse_hormone
from app.domain.orders import Order, OrderEntry, OrderState
from app.domain.permissions import Permission
from app.domain.problems import NotAccepted
from app.domain.strike_rates_words import percent
from app.services.hormones import keep_hormone
from app.services.orders import (
    TAKEN_BACK,
    add_order,
    correct_order,
    end_order,
    keep_wanted_plant,
    reopen_order,
)
from app.store.queries.history import list_history
from app.store.queries.hormones import list_hormones
from app.store.queries.order_progress import outlooks_by_order
from app.store.queries.orders import get_order, list_orders
from app.web.batch_filling import typed_day
from app.web.form_reading import Reading
from app.web.forms.order_questions import WhatIfForm
from app.web.forms.orders import FoundForOrder, OrderEndForm, OrderForm
from app.web.learning import learned_books
from app.web.pages.order_questions import answer_tried, hormone_asked
from app.web.permissions import allow
from app.web.requests import actor, db, end_reading, now, nursery, press, status_of, submit, today
from app.web.results import Saved

if TYPE_CHECKING:
    from app.store.queries.order_plans import PlanBooks
    from app.web.order_answers import ShownAnswer

blueprint = Blueprint("orders", __name__, url_prefix="/plan")


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List the orders: the open ones by the day they are due, then the ones that have ended."""
    orders = list_orders(db())
    return render_template(
        "orders/list.html",
        open_orders=[order for order in orders if order.is_open],
        ended=[order for order in orders if not order.is_open],
        chances=_chances(orders),
        today=today(),
    )


@blueprint.route("/orders/new", methods=["GET", "POST"])
@allow(Permission.KEEP_ORDERS)
def create() -> ResponseReturnValue:
    """Add an order; the address may bring along what was asked before."""
    form = OrderForm(data=request.args.to_dict() | {"version": 1})

    def add(session: Session) -> Saved:
        entry = _entry(session, form)
        number = add_order(session, actor=actor(), today=today(), now=now(), entry=entry)
        return Saved(
            location=url_for("orders.show", number=number),
            message=f"Order {number} is saved.",
            undo=url_for("orders.undo", number=number),
            next=url_for("orders.create"),
            next_words="Another order",
        )

    return submit(form, add) or _edit_page(form, order=None)


@blueprint.route("/orders/<int:number>")
@allow(Permission.READ)
def show(number: int) -> ResponseReturnValue:
    """Show an order: the answer to it, what was tried instead, and its history."""
    order = get_order(db(), number=number)
    form = WhatIfForm(request.args, usual=_as_ordered(order))
    answer: ShownAnswer | None = None
    books = learned_books()
    from app.web.order_answers import progress_for  # noqa: PLC0415 - loads numpy

    if order.is_open:
        try:
            answer = _answer(order, form, books=books)
        except NotAccepted as refusal:
            form.refuse(refusal)
    progress = progress_for(db(), books=books, order=order, today=today())
    history = list_history(db(), subject=order.name, zone=nursery().zone)
    hormones = [known.label for known in list_hormones(db())]
    end_reading()
    page = render_template(
        "orders/show.html",
        order=order,
        form=form,
        answer=answer,
        progress=progress,
        tried=any(request.args.get(name) for name in form._fields),
        hormones=hormones,
        history=history,
        today=today(),
    )
    return page, 422 if form.errors else 200


@blueprint.route("/orders/<int:number>/edit", methods=["GET", "POST"])
@allow(Permission.KEEP_ORDERS)
def edit(number: int) -> ResponseReturnValue:
    """Correct an order."""
    order = get_order(db(), number=number)
    form = OrderForm(data=_typed(order))

    def correct(session: Session) -> Saved:
        correct_order(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            number=number,
            version=form.version.data,
            entry=_entry(session, form),
        )
        return _saved(number, f"Order {number} is saved.")

    return submit(form, correct) or _edit_page(form, order=order)


@blueprint.route("/orders/<int:number>/close", methods=["GET", "POST"])
@allow(Permission.KEEP_ORDERS)
def close(number: int) -> ResponseReturnValue:
    """Close an order that is no longer wanted, with day and reason."""
    order = get_order(db(), number=number)
    form = OrderEndForm(data={"version": order.version, "ended_on": "today"})

    def save(session: Session) -> Saved:
        return _end(
            session,
            order,
            OrderState.CLOSED,
            version=form.version.data,
            ended_on=form.day(today=today()),
            reason=form.reason.data or "",
        )

    return submit(form, save) or (
        render_template("orders/close.html", form=form, order=order),
        status_of(form),
    )


@blueprint.route("/orders/<int:number>/met", methods=["POST"])
@allow(Permission.KEEP_ORDERS)
def meet(number: int) -> Response:
    """Say that an order is met: its plants were there."""
    order = get_order(db(), number=number)
    return press(
        lambda session: _end(
            session, order, OrderState.MET, version=order.version, ended_on=today()
        )
    )


@blueprint.route("/orders/<int:number>/undo", methods=["POST"])
@allow(Permission.KEEP_ORDERS)
def undo(number: int) -> Response:
    """Take back an order that was just entered."""
    order = get_order(db(), number=number)
    return press(
        lambda session: _end(
            session,
            order,
            OrderState.CLOSED,
            version=order.version,
            ended_on=today(),
            reason=TAKEN_BACK,
        )
    )


@blueprint.route("/orders/<int:number>/open", methods=["POST"])
@allow(Permission.KEEP_ORDERS)
def reopen(number: int) -> Response:
    """Open an order again that was met or closed."""

    def save(session: Session) -> Saved:
        reopen_order(session, actor=actor(), now=now(), number=number)
        return _saved(number, f"Order {number} is open again.")

    return press(save)


def _chances(orders: tuple[Order, ...]) -> dict[int, str]:
    """Return the chance of enough plants from what is stuck, as last worked out, by order."""
    outlooks = outlooks_by_order(db(), order_ids=[order.id for order in orders])
    return {
        order_id: "nothing stuck" if not outlook.batches else percent(outlook.chance)
        for order_id, outlook in outlooks.items()
        if outlook.chance is not None
    }


def _answer(order: Order, form: WhatIfForm, *, books: "PlanBooks") -> "ShownAnswer":
    # All of this loads numpy, which a page without sums must not pay for.
    from app.domain.order_plans import PlanAsked, PlanSubject  # noqa: PLC0415 - as said

    reading = Reading()
    tried = form.read_what_if(reading, today=today(), due_on=order.entry.due_on)
    hormone_id = reading.of(lambda: hormone_asked(db(), form))
    if reading.failed:
        raise reading.refusal()
    return answer_tried(
        replace(PlanSubject.of(order), cutting_type=tried.cutting_type, hormone_id=hormone_id),
        PlanAsked.of(order.entry),
        books=books,
        tried=tried,
        window_weeks=order.entry.window_weeks,
    )


def _as_ordered(order: Order) -> dict[str, str]:
    """Return what the fields say that may be turned, as the order has it."""
    typed = _typed(order)
    return {name: str(typed[name]) for name in ("sure", "batches", "cutting_type", "hormone")}


def _end(
    session: Session,
    order: Order,
    state: OrderState,
    *,
    version: int,
    ended_on: date,
    reason: str = "",
) -> Saved:
    end_order(
        session,
        actor=actor(),
        now=now(),
        number=order.number,
        version=version,
        state=state,
        ended_on=ended_on,
        reason=reason,
    )
    return Saved(
        location=url_for("orders.show", number=order.number),
        message=f"Order {order.number} is {state.value}; it stays readable.",
        undo=url_for("orders.reopen", number=order.number),
    )


def _saved(number: int, message: str) -> Saved:
    return Saved(location=url_for("orders.show", number=number), message=message)


def _entry(session: Session, form: OrderForm) -> OrderEntry:
    def plant() -> dict[str, int]:
        wanted = keep_wanted_plant(
            session,
            actor=actor(),
            now=now(),
            typed=form.plant.data or "",
            confirmed=form.as_typed.data or "",
        )
        named = {"plant_name_id": wanted.plant_name_id, "genus_id": wanted.genus_id}
        return {name: row_id for name, row_id in named.items() if row_id is not None}

    def hormone_id() -> int | None:
        hormone = parse_hormone(form.hormone.data or "")
        return keep_hormone(session, hormone=hormone) if hormone else None

    return form.entry(found=FoundForOrder(plant=plant, hormone_id=hormone_id), today=today())


def _edit_page(form: OrderForm, *, order: Order | None) -> ResponseReturnValue:
    hormones = [known.label for known in list_hormones(db())]
    page = render_template("orders/edit.html", form=form, order=order, hormones=hormones)
    return page, status_of(form)


def _typed(order: Order) -> dict[str, object]:
    entry = order.entry
    numbers = ("per_place", "enough_per_place", "batches", "window_weeks", "weaning_days", "plants")
    return {
        "plant": order.plant,
        "due_on": typed_day(entry.due_on),
        "sure": f"{entry.sure_share * 100:g}",
        "place": entry.place.value,
        "for_whom": entry.for_whom,
        "cutting_type": entry.cutting_type.value if entry.cutting_type else "",
        "hormone": order.hormone,
        "ready": "" if entry.ready_share is None else f"{entry.ready_share * 100:g}",
        "notes": entry.notes,
        "version": order.version,
        **{
            name: "" if getattr(entry, name) is None else str(getattr(entry, name))
            for name in numbers
        },
    }
