"""The sheets of recipes, one line for each mix as it is made now, and of mix lots."""

from dataclasses import fields, replace
from typing import Any, Final

from app.domain.codes import mix_lot_code, parse_mix_lot_code
from app.domain.mix_lines import parse_parts, parts_line
from app.domain.mix_lots import MixLotEntry
from app.domain.mixes import MixEntry
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.domain.record_sheets import RecordColumn, Values
from app.domain.sheet_cells import read_any_day, read_decimal, read_yes
from app.services.mix_lots import correct_mix_lot, make_mix_lot
from app.services.mix_parts import newest_version, recipe_of
from app.services.mixes import add_mix, change_mix, retire_mix
from app.services.record_sheets import Kept, SheetKind, Work
from app.services.sheet_names import mix_of, person_of
from app.store.models.mixes import Mix
from app.store.queries.mix_lots import get_mix_lot
from app.store.queries.record_exports import MIX_LOTS, RECIPES

_ON_ITS_PAGE: Final = "Change this on the lot's own page."
_LOT_FIELDS: Final = frozenset(field.name for field in fields(MixLotEntry))


def _read_recipe(text: str, *, column: str) -> str:
    return parts_line(parse_parts(text, field=column))


def _read_code(text: str, *, column: str) -> str:
    number = parse_mix_lot_code(text)
    if number is None:
        raise NotAccepted.at(column, f"“{text}” is no code of a mix lot, such as M-0007.")
    return mix_lot_code(number)


def _add_mix(work: Work, values: Values) -> None:
    if values["retired"]:
        raise NotAccepted.at("retired", "A new mix is in use. Clear this cell.")
    entry = MixEntry(
        name=values["mix"],
        parts=parse_parts(values["recipe"]),
        shrinkage_share=values["shrinkage_share"],
        notes=values["note"],
    )
    add_mix(work.session, actor=work.actor, now=work.now, entry=entry)


def _change_mix(work: Work, kept: Kept, values: Values) -> None:
    row = work.session.get_one(Mix, kept.id)
    newest = newest_version(work.session, mix_id=row.id)
    entry = recipe_of(work.session, name=row.name, version=newest)
    said: dict[str, Any] = {}
    if "recipe" in values:
        said["parts"] = parse_parts(values["recipe"])
    if "shrinkage_share" in values:
        said["shrinkage_share"] = values["shrinkage_share"]
    if "note" in values:
        said["notes"] = values["note"]
    if said:
        change_mix(
            work.session,
            actor=work.actor,
            now=work.now,
            mix_id=row.id,
            version=row.version,
            entry=replace(entry, **said),
        )
        work.session.flush()
    if "retired" in values:
        retire_mix(
            work.session,
            actor=work.actor,
            now=work.now,
            mix_id=row.id,
            version=row.version,
            retired=values["retired"],
        )


def _lot_fields(work: Work, values: Values) -> dict[str, Any]:
    said = {column: value for column, value in values.items() if column in _LOT_FIELDS}
    if "made_by" in values:
        said["made_by_id"] = person_of(work, typed=values["made_by"], column="made_by")
    if "note" in values:
        said["notes"] = values["note"]
    return said


def _make_lot(work: Work, values: Values) -> None:
    said = {column: value for column, value in values.items() if value not in (None, "")}
    version_id = mix_of(work, typed=values["mix"], column="mix")
    entry = MixLotEntry(mix_version_id=version_id or 0, **_lot_fields(work, said))
    make_mix_lot(work.session, actor=_who(work), today=work.today, now=work.now, entry=entry)


def _correct_lot(work: Work, kept: Kept, values: Values) -> None:
    known = get_mix_lot(work.session, code=kept.values["mix_lot"])
    correct_mix_lot(
        work.session,
        actor=_who(work),
        today=work.today,
        now=work.now,
        code=known.code,
        version=known.version,
        entry=replace(known.entry, **_lot_fields(work, values)),
    )


def _who(work: Work) -> Actor:
    if work.actor is None:
        raise NotAccepted.at("", "Say who enters lots: strikewell import FILE --as PERSON.")
    return work.actor


RECIPE_SHEET: Final = SheetKind(
    name="recipes",
    table=RECIPES,
    key="mix",
    needed=("recipe",),
    columns=(
        RecordColumn(name="mix", must=True),
        RecordColumn(name="shrinkage_share", read=read_decimal, blank=None),
        RecordColumn(name="retired", read=read_yes, blank=False),
        RecordColumn(name="note"),
        RecordColumn(name="recipe", read=_read_recipe, must=True),
    ),
    columns_of={"name": "mix", "parts": "recipe", "notes": "note", "shrinkage": "shrinkage_share"},
    add=_add_mix,
    correct=_change_mix,
)
MIX_LOT_SHEET: Final = SheetKind(
    name="mix-lots",
    table=MIX_LOTS,
    key="mix_lot",
    coded=True,
    needed=("mix", "made_on"),
    columns=(
        RecordColumn(name="mix_lot", read=_read_code),
        RecordColumn(name="mix", fixed="The recipe of a lot stays: make up another lot."),
        RecordColumn(name="made_on", read=read_any_day, blank=None, must=True),
        RecordColumn(name="made_by"),
        RecordColumn(name="asked_l", read=read_decimal, blank=None),
        RecordColumn(name="litres", read=read_decimal, blank=None),
        RecordColumn(name="extraction"),
        RecordColumn(name="medium_ec", read=read_decimal, blank=None),
        RecordColumn(name="medium_ph", read=read_decimal, blank=None),
        RecordColumn(name="water_ec", read=read_decimal, blank=None),
        RecordColumn(name="water_ph", read=read_decimal, blank=None),
        RecordColumn(name="container"),
        RecordColumn(name="container_ml", read=read_decimal, blank=None),
        RecordColumn(name="saturation_ml", read=read_decimal, blank=None),
        RecordColumn(name="drained_ml", read=read_decimal, blank=None),
        RecordColumn(name="empty_on", read=read_any_day, blank=None, fixed=_ON_ITS_PAGE),
        RecordColumn(name="void", read=read_yes, blank=False, fixed=_ON_ITS_PAGE),
        RecordColumn(name="note"),
    ),
    columns_of={"notes": "note"},
    add=_make_lot,
    correct=_correct_lot,
)
