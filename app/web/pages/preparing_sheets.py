"""The preparing sheet: what to have ready for a day's or week's sticking. It stores nothing."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from app.domain.genus_cautions import FOLLOW_THE_LABEL
from app.domain.permissions import Permission, allowed
from app.domain.preparing_sheets import PreparingSheet
from app.domain.work_cautions import DUST, HORMONE, KNIVES, MEDIUM
from app.store.queries.orders import list_open_orders
from app.store.queries.preparing_sheets import (
    find_last_time,
    list_plant_cautions,
    list_preparing_choices,
)
from app.web.forms.preparing_sheets import PreparingForm
from app.web.learning import learned_books
from app.web.permissions import allow
from app.web.preparing_reading import MOST_LINES, line_forms, make_up, read_sheet
from app.web.requests import actor, db, nursery, today

if TYPE_CHECKING:
    from wtforms import Form

blueprint = Blueprint("preparing_sheets", __name__, url_prefix="/plan/prepare")

_FROM_ORDERS: Final = "orders"


@blueprint.route("")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """Show what to have ready for the lines typed, and the lines themselves."""
    args = request.args
    asked_orders = _FROM_ORDERS in args
    if asked_orders:
        args = _lines_of_orders()
    choices = list_preparing_choices(db())
    form = PreparingForm(args)
    lines = line_forms(args, choices=choices)
    sheet = read_sheet(
        form,
        lines=lines,
        choices=choices,
        last_time=lambda plant: find_last_time(db(), plant=plant),
    )
    powder = nursery().raw_powder and allowed(actor().role, Permission.KEEP_REGISTERS)
    made = make_up(sheet, args=args, powder=powder) if sheet else ()
    forms: tuple[Form, ...] = (form, *lines, *(one.form for one in made))
    refused = [each for each in forms if each.errors]
    page = render_template(
        "preparing_sheets/show.html",
        form=form,
        lines=lines,
        sheet=sheet,
        rows=_rows(sheet) if sheet else (),
        made=made,
        powder=powder,
        choices=choices,
        refused_forms=refused,
        cautions=_cautions(sheet) if sheet else (),
        plant_cautions=list_plant_cautions(db(), plants=[each.plant for each in sheet.batches])
        if sheet
        else (),
        follow=FOLLOW_THE_LABEL,
        nothing_ordered=asked_orders and sheet is None,
        any_orders=bool(list_open_orders(db())),
    )
    return page, 422 if refused else 200


def _rows(sheet: PreparingSheet) -> Sequence[object]:
    return tuple(zip(sheet.batches, sheet.containers, strict=True))


def _cautions(sheet: PreparingSheet) -> Sequence[object]:
    hormone = (HORMONE,) if sheet.hormones else ()
    return (KNIVES, *hormone, MEDIUM, DUST)


def _lines_of_orders() -> MultiDict[str, str]:
    """Return a line for the next batch of each open order for which more is to be stuck."""
    from app.store.queries.preparing_orders import list_next_batches  # noqa: PLC0415 - loads numpy

    lines: MultiDict[str, str] = MultiDict()
    wanted = list_next_batches(db(), books=learned_books(), today=today())
    for number, (plant, cuttings) in enumerate(wanted[:MOST_LINES]):
        lines[f"lines-{number}-plant"] = plant
        lines[f"lines-{number}-cuttings"] = str(cuttings)
    return lines
