"""The one search box: an exact code goes straight to the record, all else is looked for."""

from dataclasses import dataclass

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.codes import (
    hold_code,
    liner_lot_code,
    parse_batch_code,
    parse_hold_code,
    parse_liner_lot_code,
    parse_stock_plant_code,
    stock_plant_code,
)
from app.domain.permissions import Permission
from app.store.queries.batch_lists import BatchesWanted, BatchLine, list_batches
from app.store.queries.batches import find_batch_id
from app.store.queries.holds import has_hold
from app.store.queries.liner_lots import find_liner_lot_id
from app.store.queries.plant_names import PlantNameLine, list_plant_names
from app.store.queries.stock_plants import (
    StockPlantLine,
    StockPlantsIn,
    find_stock_plant_id,
    list_stock_plants,
)
from app.store.queries.waited_entries import list_marked
from app.web.permissions import allow
from app.web.requests import db, moment, today

blueprint = Blueprint("search", __name__)

MOST = 20


@dataclass(frozen=True, kw_only=True)
class Found:
    """What fits a text, at most MOST of each kind."""

    batches: tuple[BatchLine, ...] = ()
    stock_plants: tuple[StockPlantLine, ...] = ()
    plant_names: tuple[PlantNameLine, ...] = ()

    @property
    def nothing(self) -> bool:
        """Whether nothing fits."""
        return not (self.batches or self.stock_plants or self.plant_names)


@blueprint.route("/search")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """Go to the record whose code was typed, or list what fits."""
    text = " ".join(request.args.get("q", "").split())
    address = _record(db(), text)
    if address:
        return redirect(address, code=303)
    return render_template(
        "search/show.html",
        text=text,
        find_text=text,
        found=_found(db(), text) if text else Found(),
        unknown_code=_unknown_code(text),
        today=today(),
    )


def _record(session: Session, text: str) -> str:
    """Return the address of the record of this code, "" if there is none."""
    if find_batch_id(session, code=text) is not None:
        return url_for("batches.show", code=str(parse_batch_code(text)))
    marked = list_marked(session, mark=text.upper())
    if len(marked) == 1:
        return url_for("batches.show", code=marked[0])
    number = parse_stock_plant_code(text)
    if number is not None and find_stock_plant_id(session, code=text) is not None:
        return url_for("stock_plants.show", code=stock_plant_code(number))
    hold = parse_hold_code(text)
    if hold is not None and has_hold(session, number=hold):
        return url_for("holds.show", code=hold_code(hold))
    lot = parse_liner_lot_code(text)
    if lot is not None and find_liner_lot_id(session, code=text) is not None:
        return url_for("liner_lots.show", code=liner_lot_code(lot))
    return ""


def _unknown_code(text: str) -> str:
    """Return the code that was typed, as it is written, where no record has it; else ""."""
    batch, number = parse_batch_code(text), parse_stock_plant_code(text)
    if batch is not None:
        return f"batch {batch}"
    lot = parse_liner_lot_code(text)
    if lot is not None:
        return f"liner lot {liner_lot_code(lot)}"
    return f"stock plant {stock_plant_code(number)}" if number is not None else ""


def _found(session: Session, text: str) -> Found:
    day = today()
    return Found(
        batches=list_batches(session, wanted=BatchesWanted(text=text), today=day, limit=MOST).lines,
        stock_plants=list_stock_plants(
            session, on=day, moment=moment(), wanted=StockPlantsIn.ALL, text=text, limit=MOST
        ).lines,
        plant_names=list_plant_names(session, text=text, limit=MOST).lines,
    )
