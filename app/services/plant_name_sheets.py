"""The sheets of plant names, which their whole line finds again, and of genera."""

from dataclasses import replace
from typing import Final

from app.domain.plant_name_entries import PlantNameEntry
from app.domain.plant_names import accept_plant_name, kept_plant_name
from app.domain.record_sheets import RecordColumn, Values
from app.domain.sheet_cells import read_any_day
from app.services.genera import correct_genus
from app.services.plant_names import add_plant_name, correct_plant_name
from app.services.record_sheets import Kept, SheetKind, Work
from app.store.models.genera import Genus
from app.store.models.plant_names import PlantNameRow
from app.store.queries.record_exports import GENERA, PLANT_NAMES

_BESIDE: Final = (
    "trade_designation", "common_name", "rights_grant", "rights_licence", "rights_until",
)  # fmt: skip
_CAUTION: Final = "Cautions come with the program and cannot be changed by a sheet."


def _add_name(work: Work, values: Values) -> None:
    entry = PlantNameEntry(
        name=accept_plant_name(values["plant"]),
        notes=values["note"],
        **{field: values[field] for field in _BESIDE},
    )
    add_plant_name(work.session, actor=work.actor, now=work.now, entry=entry)


def _correct_name(work: Work, kept: Kept, values: Values) -> None:
    row = work.session.get_one(PlantNameRow, kept.id)
    stored = PlantNameEntry(
        name=kept_plant_name(row.plain),
        notes=row.notes,
        **{field: getattr(row, field) for field in _BESIDE},
    )
    fields = {"notes" if column == "note" else column: value for column, value in values.items()}
    correct_plant_name(
        work.session,
        actor=work.actor,
        now=work.now,
        plant_name_id=row.id,
        version=row.version,
        entry=replace(stored, **fields),
    )


def _correct_genus(work: Work, kept: Kept, values: Values) -> None:
    row = work.session.get_one(Genus, kept.id)
    correct_genus(
        work.session,
        actor=work.actor,
        now=work.now,
        name=row.name,
        version=row.version,
        family=values["family"],
    )


PLANT_NAME_SHEET: Final = SheetKind(
    name="plant-names",
    table=PLANT_NAMES,
    key="plant",
    columns=(
        RecordColumn(name="plant", must=True),
        RecordColumn(name="family", fixed="Change a family on the sheet of genera."),
        RecordColumn(name="trade_designation"),
        RecordColumn(name="common_name"),
        RecordColumn(name="rights_grant"),
        RecordColumn(name="rights_licence"),
        RecordColumn(name="rights_until", read=read_any_day, blank=None),
        RecordColumn(name="note"),
    ),
    columns_of={"notes": "note"},
    add=_add_name,
    correct=_correct_name,
)
GENUS_SHEET: Final = SheetKind(
    name="genera",
    table=GENERA,
    key="genus",
    columns=(
        RecordColumn(name="genus", must=True),
        RecordColumn(name="family"),
        RecordColumn(name="caution", fixed=_CAUTION),
        RecordColumn(name="caution_route", fixed=_CAUTION),
        RecordColumn(name="caution_basis", fixed=_CAUTION),
        RecordColumn(name="caution_applies_to", fixed=_CAUTION),
    ),
    correct=_correct_genus,
)
