"""Sticking by phone: choose the plant once, then a number and *Save and next*, again and again."""

from typing import Any, Final

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.codes import parse_stock_plant_code, stock_plant_code
from app.domain.permissions import Permission
from app.store.queries.batch_choices import BatchChoices, list_batch_choices
from app.store.queries.batch_links import plugs_of
from app.store.queries.batch_lists import list_recent_plants
from app.store.queries.batches import find_latest_batch, get_batch
from app.store.queries.orders import list_open_orders
from app.store.queries.stock_plants import find_stock_plant_id
from app.web.batch_filling import fill_from_card, offer
from app.web.forms.batches import BatchStickForm
from app.web.order_choices import order_choices
from app.web.pages.sticking import around, looked_again, ordered, start_like, stick_typed
from app.web.permissions import allow
from app.web.requests import actor, db, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("bench_sticking", __name__, url_prefix="/stick")

RECENT: Final = 6


@blueprint.route("")
@allow(Permission.STICK)
def choose() -> ResponseReturnValue:
    """Ask which plant is stuck: like the last one, by its label's code, or by its name."""
    typed = _typed_plant(request.args.get("plant", ""))
    if typed and not _unknown(typed):
        return redirect(url_for("bench_sticking.create", plant=typed), code=303)
    last = find_latest_batch(db(), recorded_by_id=actor().person_id)
    return render_template(
        "bench_sticking/choose.html",
        typed=typed,
        refusal=_unknown(typed),
        last=get_batch(db(), code=last) if last else None,
        recent=list_recent_plants(db(), limit=RECENT),
    )


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.STICK)
def create() -> ResponseReturnValue:
    """Stick batches of one plant, one after the other."""
    like = request.args.get("like", "").strip()
    start = start_like(db(), like=like)
    plant = _typed_plant(request.args.get("plant", ""))
    texts = start.texts | ordered(start) | (_of_plant(plant) if plant else {})
    form = BatchStickForm(data=texts | {"stuck": "", "stuck_on": "today"})
    choices = list_batch_choices(db(), kept=start.kept)
    offer(form, choices=choices)
    orders = list_open_orders(db())
    form.order.choices = order_choices(orders, today=today())
    answer = submit(form, lambda session: _stick(session, form))
    if answer:
        return answer
    page = render_template(
        "bench_sticking/new.html",
        form=form,
        like=start.like,
        orders=orders,
        **_around(form, choices, plant=plant),
    )
    return page, status_of(form)


def _around(form: BatchStickForm, choices: BatchChoices, *, plant: str) -> dict[str, Any]:
    card = looked_again(form, choices)
    if request.method == "GET" and plant and card.version_id is not None:
        fill_from_card(form, texts=card.texts, card_version_id=card.version_id)
    return {
        **around(form, card, choices),
        "tray": _tray(form),
        "named": card.plant or form.plant.data or "",
    }


def _stick(session: Session, form: BatchStickForm) -> Saved:
    """Stick it; the page goes on with another like it."""
    saved = stick_typed(session, form, again=True)
    code = (saved.link or "").rpartition("/")[2]
    return Saved(
        location=url_for("bench_sticking.create", like=code),
        message=saved.message,
        link=saved.link,
        undo=saved.undo,
    )


def _typed_plant(typed: str) -> str:
    """Return a plant as typed, or the code at the end of what the label of a stock plant says."""
    last = typed.strip().rstrip("/").rpartition("/")[2].strip()
    number = parse_stock_plant_code(last)
    return stock_plant_code(number) if number is not None else " ".join(typed.split())


def _unknown(typed: str) -> str:
    """Return why a stock plant's code leads nowhere, "" where it does or is none."""
    if parse_stock_plant_code(typed) is None or find_stock_plant_id(db(), code=typed):
        return ""
    return f"There is no stock plant {typed}. Look at its label, or type the plant's name."


def _of_plant(plant: str) -> dict[str, Any]:
    """Return what a form begins with for a plant: its name or code, and where the last one went."""
    texts: dict[str, Any] = {"plant": plant}
    last = find_latest_batch(db(), recorded_by_id=actor().person_id)
    bench_id = get_batch(db(), code=last).entry.bench_id if last else None
    return texts | ({"bench": str(bench_id)} if bench_id is not None else {})


def _tray(form: BatchStickForm) -> int | None:
    """Return the places of the container chosen, None where none is known."""
    chosen = form.container.data or ""
    return plugs_of(db(), container_id=int(chosen)) if chosen.isdigit() else None
