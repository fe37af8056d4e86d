"""The sheet of stock plants: a code finds one again, a blank one makes a new one."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, Final

from app.domain.codes import parse_stock_plant_code, stock_plant_code
from app.domain.problems import NotAccepted, Problem
from app.domain.record_sheets import RecordColumn, Values
from app.domain.sheet_cells import choice_reader, read_any_day, read_decimal, read_whole, read_yes
from app.domain.stock_plant_events import FIGURES
from app.domain.stock_plants import Origin, StockPlantEntry, StockPlantState
from app.services.record_sheets import Kept, SheetKind, Work
from app.services.sheet_names import batch_of, bench_of, plant_name_of
from app.services.stock_plants import add_stock_plant, correct_stock_plant
from app.store.models.stock_plants import StockPlant
from app.store.queries.exports import STOCK_PLANTS

_DISCARD: Final = "Discard it on its own page, which asks for the day and the reason."
_BY_DAY: Final = "Write this down on the page of the plant, with its day."
_NAMED: Final[Mapping[str, tuple[str, Callable[..., int | None]]]] = {
    "plant": ("plant_name_id", plant_name_of),
    "bench": ("bench_id", bench_of),
    "raised_from": ("raised_from_id", batch_of),
}


def _read_code(text: str, *, column: str) -> str:
    number = parse_stock_plant_code(text)
    if number is None:
        raise NotAccepted.at(column, f"“{text}” is no code of a stock plant, such as S-0031.")
    return stock_plant_code(number)


def _fields(work: Work, values: Values) -> dict[str, Any]:
    """Return the fields of an entry that these columns say."""
    fields: dict[str, Any] = {}
    for column, value in values.items():
        if column in _NAMED:
            field, find = _NAMED[column]
            fields[field] = find(work, typed=value, column=column)
        elif column in StockPlantEntry.__dataclass_fields__:
            fields[column] = value
        elif column == "note":
            fields["notes"] = value
    if fields.get("state") is StockPlantState.DISCARDED:
        raise NotAccepted.at("state", _DISCARD)
    return fields


def _add(work: Work, values: Values) -> None:
    said = {column: value for column, value in values.items() if value not in (None, "")}
    entry = StockPlantEntry(**_fields(work, said))
    add_stock_plant(work.session, actor=work.actor, today=work.today, now=work.now, entry=entry)


def _correct(work: Work, kept: Kept, values: Values) -> None:
    by_day = [Problem(field=column, sentence=_BY_DAY) for column in values if column in FIGURES]
    if by_day:
        raise NotAccepted(tuple(by_day))
    row = work.session.get_one(StockPlant, kept.id)
    stored = {field: getattr(row, field) for field in StockPlantEntry.__dataclass_fields__}
    entry = replace(
        StockPlantEntry(
            **stored | {"state": StockPlantState(row.state), "origin": Origin(row.origin)}
        ),
        **_fields(work, values),
    )
    correct_stock_plant(
        work.session,
        actor=work.actor,
        today=work.today,
        now=work.now,
        stock_plant_id=row.id,
        version=row.version,
        entry=entry,
    )


STOCK_PLANT_SHEET: Final = SheetKind(
    name="stock-plants",
    table=STOCK_PLANTS,
    key="stock_plant",
    coded=True,
    needed=("plant",),
    columns=(
        RecordColumn(name="stock_plant", read=_read_code),
        RecordColumn(name="plant", must=True),
        RecordColumn(name="plants", read=read_whole, blank=None, must=True),
        RecordColumn(name="bench"),
        RecordColumn(name="state", read=choice_reader(StockPlantState), must=True),
        RecordColumn(name="state_reason"),
        RecordColumn(name="origin", read=choice_reader(Origin)),
        RecordColumn(name="raised_from"),
        RecordColumn(name="supplier"),
        RecordColumn(name="supplier_reference"),
        RecordColumn(name="came_on", read=read_any_day, blank=None),
        RecordColumn(name="rest_weeks", read=read_whole, blank=None),
        RecordColumn(name="expected_per_plant", read=read_decimal, blank=None),
        RecordColumn(name="cut_back_on", read=read_any_day, blank=None),
        RecordColumn(name="renew_by", read=read_any_day, blank=None),
        RecordColumn(name="tested_until", read=read_any_day, blank=None),
        RecordColumn(name="true_to_type_on", read=read_any_day, blank=None),
        RecordColumn(name="flowering", read=read_yes, blank=None),
        RecordColumn(name="discarded_on", read=read_any_day, blank=None, fixed=_DISCARD),
        RecordColumn(name="note"),
    ),
    columns_of={"plant_name_id": "plant", "bench_id": "bench", "notes": "note"},
    add=_add,
    correct=_correct,
)
