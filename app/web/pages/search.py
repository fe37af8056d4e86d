"""The one search box: an exact code goes straight to the record, all else is looked for."""

from dataclasses import dataclass

from flask import Blueprint, redirect, render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.permissions import Permission
from app.store.queries.batch_lists import BatchesWanted, BatchLine, list_batches
from app.store.queries.label_numbers import find_label_number
from app.store.queries.plant_names import PlantNameLine, list_plant_names
from app.store.queries.stock_plants import (
    StockPlantLine,
    StockPlantsIn,
    list_stock_plants,
)
from app.web.code_addresses import code_without_record, record_address
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
    address = record_address(db(), text)
    if address:
        return redirect(address, code=303)
    return render_template(
        "search/show.html",
        text=text,
        find_text=text,
        found=_found(db(), text) if text else Found(),
        free_label=find_label_number(db(), text=text),
        unknown_code=code_without_record(text),
        today=today(),
    )


def _found(session: Session, text: str) -> Found:
    day = today()
    return Found(
        batches=list_batches(session, wanted=BatchesWanted(text=text), today=day, limit=MOST).lines,
        stock_plants=list_stock_plants(
            session, on=day, moment=moment(), wanted=StockPlantsIn.ALL, text=text, limit=MOST
        ).lines,
        plant_names=list_plant_names(session, text=text, limit=MOST).lines,
    )
