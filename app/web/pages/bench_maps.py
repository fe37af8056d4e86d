"""Pages that show what stood where on any day: the whole house, and one bench."""

from dataclasses import dataclass
from datetime import date

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from app.domain.days import day_long, day_short, parse_optional_day
from app.domain.permissions import Permission
from app.domain.problems import NotAccepted
from app.store.queries.bench_lots import list_stood_lots
from app.store.queries.bench_stands import (
    BenchOnDay,
    list_house,
    list_stood,
    list_stood_stock_plants,
    load_of,
)
from app.store.queries.benches import get_bench
from app.web.permissions import allow
from app.web.requests import db, today

blueprint = Blueprint("bench_maps", __name__, url_prefix="/benches")


@dataclass(frozen=True, kw_only=True)
class AskedDay:
    """The day asked for, as typed, and why it cannot be shown."""

    on: date
    typed: str
    refusal: str


@blueprint.route("/house")
@allow(Permission.READ)
def show_house() -> ResponseReturnValue:
    """Show every bench in walking order with what stood there on a day, and how full it was."""
    asked = _asked_day()
    house = list_house(db(), on=asked.on, today=today())
    page = render_template(
        "bench_maps/house.html",
        asked=asked,
        house=house,
        heading=_heading(house, on=asked.on),
        today=today(),
    )
    return page, 422 if asked.refusal else 200


@blueprint.route("/<int:bench_id>/day")
@allow(Permission.READ)
def show_day(bench_id: int) -> ResponseReturnValue:
    """Show what stood on a bench on any day."""
    bench = get_bench(db(), bench_id=bench_id)
    asked = _asked_day()
    batches = list_stood(db(), on=asked.on, today=today(), bench_id=bench_id)
    lots = list_stood_lots(db(), on=asked.on, bench_id=bench_id)
    page = render_template(
        "bench_maps/day.html",
        asked=asked,
        bench=bench,
        batches=batches,
        stock_plants=list_stood_stock_plants(db(), on=asked.on, bench_id=bench_id),
        lots=lots,
        load=load_of(batches, lots=lots, room=bench.capacity_trays),
        today=today(),
    )
    return page, 422 if asked.refusal else 200


def _asked_day() -> AskedDay:
    typed = request.args.get("on", "")
    try:
        on = parse_optional_day(typed, today=today(), field="on") or today()
    except NotAccepted as refused:
        return AskedDay(on=today(), typed=typed, refusal=refused.problems[0].sentence)
    if on > today():
        sentence = f"{day_long(on)} is still to come: give a day up to today."
        return AskedDay(on=today(), typed=typed, refusal=sentence)
    return AskedDay(on=on, typed=typed, refusal="")


def _heading(house: tuple[BenchOnDay, ...], *, on: date) -> str:
    over = sum(one.load.is_over for one in house)
    day = "today" if on == today() else f"on {day_short(on, today=today())}"
    if not house:
        return f"No bench stood in the house {day}"
    if over:
        benches = "bench holds" if over == 1 else "benches hold"
        return f"{over} of {len(house)} {benches} more than there is room for {day}"
    benches = "The one bench has" if len(house) == 1 else f"All {len(house)} benches have"
    return f"{benches} room for what stands there {day}"
