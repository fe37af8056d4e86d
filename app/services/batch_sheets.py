"""The sheet of batches: a code finds one again, a blank one sticks a new one."""

from collections.abc import Callable, Mapping
from dataclasses import fields, replace
from typing import Any, Final

from sqlalchemy import select

from app.domain.batches import BatchEntry
from app.domain.codes import parse_batch_code
from app.domain.cutting_types import Cut, CuttingType, Section
from app.domain.notebook_cells import read_hormone
from app.domain.problems import NotAccepted
from app.domain.record_sheets import RecordColumn, Values
from app.domain.sheet_cells import (
    choice_reader,
    read_any_day,
    read_decimal,
    read_whole,
    read_yes,
)
from app.services.batches import correct_batch, stick_batch
from app.services.record_sheets import Kept, SheetKind, Work
from app.services.sheet_names import (
    batch_of,
    bench_of,
    container_of,
    mix_lot_of,
    mix_of,
    person_of,
    plant_name_of,
    writer_of,
)
from app.store.models.batches import Batch
from app.store.queries.batch_entries import get_batch_entry
from app.store.queries.exports import BATCHES

_CHECKS: Final = "This comes from the batch's checks: read those in with a notebook sheet."
_ON_ITS_PAGE: Final = "Change this on the batch's own page."
_HORMONE: Final = ("hormone", "hormone_form", "hormone_ppm")
_NAMED: Final[Mapping[str, tuple[str, Callable[..., int | None]]]] = {
    "plant": ("plant_name_id", plant_name_of),
    "gathered_by": ("gathered_by_id", person_of),
    "made_by": ("made_by_id", person_of),
    "stuck_by": ("stuck_by_id", person_of),
    "mix": ("mix_version_id", mix_of),
    "mix_lot": ("mix_lot_id", mix_lot_of),
    "container": ("container_id", container_of),
    "bench": ("bench_id", bench_of),
    "restuck_from": ("restuck_from_id", batch_of),
}
_PLAIN: Final = frozenset(field.name for field in fields(BatchEntry)) - {"hormone"}
_OTHER_NAMES: Final = {"per_plug": "per_place", "note": "notes"}
_CHOICES: Final = ("cutting_type", "cut", "section")


def _read_code(text: str, *, column: str) -> str:
    code = parse_batch_code(text)
    if code is None:
        raise NotAccepted.at(column, f"“{text}” is no code of a batch, such as 26-0147.")
    return str(code)


def _fields(work: Work, values: Values, *, hormone: Values) -> dict[str, Any]:
    """Return the fields of an entry that these columns say; `hormone` has all three of its own."""
    said: dict[str, Any] = {}
    for column, value in values.items():
        if column in _NAMED:
            field, find = _NAMED[column]
            said[field] = find(work, typed=value, column=column)
        elif column in _CHOICES:
            said[column] = value or None
        elif _OTHER_NAMES.get(column, column) in _PLAIN:
            said[_OTHER_NAMES.get(column, column)] = value
    if set(_HORMONE) & set(values):
        ppm = hormone["hormone_ppm"]
        said["hormone"] = read_hormone(
            hormone["hormone"] or "",
            form=hormone["hormone_form"] or "",
            ppm="" if ppm is None else str(ppm),
        )
    return said


def _add(work: Work, values: Values) -> None:
    said = {column: value for column, value in values.items() if value not in (None, "")}
    entry = BatchEntry(**_fields(work, said, hormone=values))
    stick_batch(
        work.session,
        actor=writer_of(work, entering="batches"),
        today=work.today,
        now=work.now,
        entry=entry,
    )


def _correct(work: Work, kept: Kept, values: Values) -> None:
    stored = get_batch_entry(work.session, batch_id=kept.id)
    version = work.session.scalars(select(Batch.version).where(Batch.id == kept.id)).one()
    said = _fields(work, values, hormone=dict(kept.values) | dict(values))
    if {"stuck", "trays", "per_tray", "gaps"} & said.keys() == {"stuck"}:
        # A number alone is said anew: trays and gaps that gave another one go with it.
        said |= {"trays": None, "per_tray": None, "gaps": None}
    touched = set(said) | set(values)
    taken_over = tuple(field for field in stored.taken_over if field not in touched)
    correct_batch(
        work.session,
        actor=writer_of(work, entering="batches"),
        today=work.today,
        now=work.now,
        batch_id=kept.id,
        version=version,
        entry=replace(stored, **said, taken_over=taken_over),
    )


BATCH_SHEET: Final = SheetKind(
    name="batches",
    table=BATCHES,
    key="batch",
    coded=True,
    needed=("plant", "stuck_on", "stuck"),
    columns=(
        RecordColumn(name="batch", read=_read_code),
        RecordColumn(name="plant", must=True),
        RecordColumn(name="own_reference"),
        RecordColumn(name="reference_source"),
        RecordColumn(name="taken_on", read=read_any_day, blank=None),
        RecordColumn(name="taken", read=read_whole, blank=None),
        RecordColumn(name="thrown_out", read=read_whole, blank=None),
        RecordColumn(name="stored_hours", read=read_decimal, blank=None),
        RecordColumn(name="stored_c", read=read_decimal, blank=None),
        RecordColumn(name="stored_how"),
        RecordColumn(name="stuck_on", read=read_any_day, blank=None, must=True),
        RecordColumn(name="stuck", read=read_whole, blank=None, must=True),
        RecordColumn(name="trays", read=read_whole, blank=None),
        RecordColumn(name="per_tray", read=read_whole, blank=None),
        RecordColumn(name="gaps", read=read_whole, blank=None),
        RecordColumn(name="gathered_by"),
        RecordColumn(name="made_by"),
        RecordColumn(name="stuck_by"),
        RecordColumn(name="hours", read=read_decimal, blank=None),
        RecordColumn(name="cutting_type", read=choice_reader(CuttingType)),
        RecordColumn(name="cut", read=choice_reader(Cut)),
        RecordColumn(name="section", read=choice_reader(Section)),
        RecordColumn(name="growth_stage"),
        RecordColumn(name="length_cm", read=read_decimal, blank=None),
        RecordColumn(name="leaves_left", read=read_whole, blank=None),
        RecordColumn(name="leaves_halved", read=read_yes, blank=None),
        RecordColumn(name="wounded", read=read_yes, blank=None),
        RecordColumn(name="buds_removed", read=read_yes, blank=None),
        RecordColumn(name="flowering", read=read_yes, blank=None),
        RecordColumn(name="hormone"),
        RecordColumn(name="hormone_form"),
        RecordColumn(name="hormone_ppm", read=read_whole, blank=None),
        RecordColumn(name="dip_s", read=read_decimal, blank=None),
        RecordColumn(name="mix"),
        RecordColumn(name="mix_version", read=read_whole, blank=None, fixed=_ON_ITS_PAGE),
        RecordColumn(name="mix_lot"),
        RecordColumn(name="container"),
        RecordColumn(name="per_plug", read=read_whole, blank=None),
        RecordColumn(name="placed"),
        RecordColumn(name="bench"),
        RecordColumn(name="cover"),
        RecordColumn(name="bottom_heat_c", read=read_decimal, blank=None),
        RecordColumn(name="shade"),
        RecordColumn(name="restuck_from"),
        RecordColumn(name="trial_block"),
        RecordColumn(name="rooted", read=read_whole, blank=None, fixed=_CHECKS),
        RecordColumn(name="lost", read=read_whole, blank=None, fixed=_CHECKS),
        RecordColumn(name="dumped", read=read_whole, blank=None, fixed=_CHECKS),
        RecordColumn(name="cleared_unrooted", read=read_whole, blank=None, fixed=_CHECKS),
        RecordColumn(name="void", read=read_yes, blank=False, fixed=_ON_ITS_PAGE),
        RecordColumn(name="void_reason", fixed=_ON_ITS_PAGE),
        RecordColumn(name="note"),
        RecordColumn(name="sources", fixed=_ON_ITS_PAGE),
        RecordColumn(name="thrown_out_cause"),
        RecordColumn(name="gathered_hours", read=read_decimal, blank=None),
        RecordColumn(name="made_hours", read=read_decimal, blank=None),
    ),
    columns_of={
        "plant_name_id": "plant",
        "bench_id": "bench",
        "container_id": "container",
        "mix_version_id": "mix",
        "per_place": "per_plug",
        "notes": "note",
    },
    add=_add,
    correct=_correct,
    most=200,
)
