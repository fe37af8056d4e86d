"""The sheet of orders: a number finds one again, a blank one makes a new one."""

from dataclasses import replace
from typing import Any, Final

from app.domain.cutting_types import CuttingType
from app.domain.orders import OrderEntry, Place
from app.domain.record_sheets import RecordColumn, Values
from app.domain.sheet_cells import choice_reader, read_any_day, read_decimal, read_whole
from app.services.orders import add_order, correct_order, keep_wanted_plant
from app.services.record_sheets import Kept, SheetKind, Work
from app.services.sheet_names import hormone_of
from app.store.models.orders import OrderRow
from app.store.queries.record_exports import ORDERS

_ON_ITS_PAGE: Final = "End an order, or open it again, on its own page."


def _fields(work: Work, values: Values) -> dict[str, Any]:
    """Return the fields of an entry that these columns say."""
    fields = {
        column: value
        for column, value in values.items()
        if column in OrderEntry.__dataclass_fields__
    }
    if "cutting_type" in values:
        fields["cutting_type"] = values["cutting_type"] or None
    if "note" in values:
        fields["notes"] = values["note"]
    if "hormone" in values:
        fields["hormone_id"] = hormone_of(work, typed=values["hormone"], column="hormone")
    if "plant" in values:
        wanted = keep_wanted_plant(
            work.session, actor=work.actor, now=work.now, typed=values["plant"]
        )
        fields |= {"plant_name_id": wanted.plant_name_id, "genus_id": wanted.genus_id}
    return fields


def _add(work: Work, values: Values) -> None:
    said = {column: value for column, value in values.items() if value not in (None, "")}
    entry = OrderEntry(**_fields(work, said))
    add_order(work.session, actor=work.actor, today=work.today, now=work.now, entry=entry)


def _correct(work: Work, kept: Kept, values: Values) -> None:
    row = work.session.get_one(OrderRow, kept.id)
    stored = {field: getattr(row, field) for field in OrderEntry.__dataclass_fields__}
    typed = {
        "place": Place(row.place),
        "cutting_type": CuttingType(row.cutting_type) if row.cutting_type else None,
    }
    correct_order(
        work.session,
        actor=work.actor,
        today=work.today,
        now=work.now,
        number=row.number,
        version=row.version,
        entry=replace(OrderEntry(**stored | typed), **_fields(work, values)),
    )


ORDER_SHEET: Final = SheetKind(
    name="orders",
    table=ORDERS,
    key="order",
    coded=True,
    needed=("plant", "plants", "due_on"),
    columns=(
        RecordColumn(name="order", read=read_whole),
        RecordColumn(name="plant", must=True),
        RecordColumn(name="plants", read=read_whole, blank=None, must=True),
        RecordColumn(name="due_on", read=read_any_day, blank=None, must=True),
        RecordColumn(name="sure_share", read=read_decimal, blank=None, must=True),
        RecordColumn(name="place", read=choice_reader(Place), must=True),
        RecordColumn(name="per_place", read=read_whole, blank=None, must=True),
        RecordColumn(name="enough_per_place", read=read_whole, blank=None, must=True),
        RecordColumn(name="for_whom"),
        RecordColumn(name="cutting_type", read=choice_reader(CuttingType)),
        RecordColumn(name="hormone"),
        RecordColumn(name="batches", read=read_whole, blank=None, must=True),
        RecordColumn(name="window_weeks", read=read_whole, blank=None, must=True),
        RecordColumn(name="ready_share", read=read_decimal, blank=None),
        RecordColumn(name="weaning_days", read=read_whole, blank=None),
        RecordColumn(name="state", fixed=_ON_ITS_PAGE),
        RecordColumn(name="ended_on", read=read_any_day, blank=None, fixed=_ON_ITS_PAGE),
        RecordColumn(name="ended_reason", fixed=_ON_ITS_PAGE),
        RecordColumn(name="note"),
    ),
    columns_of={"plant_name_id": "plant", "hormone_id": "hormone", "notes": "note"},
    add=_add,
    correct=_correct,
)
