"""The sheet of treatments: new lines are recorded; one in the log is never edited."""

import re
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any, Final
from zoneinfo import ZoneInfo

from sqlalchemy import select

from app.domain.codes import parse_treatment_code
from app.domain.problems import NotAccepted
from app.domain.record_sheets import RecordColumn, Values
from app.domain.sheet_cells import choice_reader, read_yes
from app.domain.treatments import TreatmentEntry, TreatmentKind
from app.services.record_sheets import SheetKind, Work
from app.services.sheet_names import batch_of, bench_of, person_of, stock_plant_of, writer_of
from app.services.treatments import record_treatment
from app.store.models.meta import Meta
from app.store.queries.treatment_exports import BETWEEN, CLOCK, TREATMENTS

_WITHDRAW: Final = "Withdraw a treatment on its own page, which asks for the reason."
_DAY_FIRST: Final = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4})(.*)")


def _read_number(text: str, *, column: str) -> int:
    number = int(text) if text.isdecimal() and len(text) < 10 else parse_treatment_code(text)
    if number is None:
        raise NotAccepted.at(column, f"“{text}” is no number of a treatment, such as T-0012.")
    return number


def _read_time(text: str, *, column: str) -> str:
    """Return a time by the nursery's clock as such sheets are written."""
    typed = _DAY_FIRST.fullmatch(text)
    written = f"{typed[3]}-{int(typed[2]):02}-{int(typed[1]):02}{typed[4]}" if typed else text
    try:
        at = datetime.fromisoformat(written)
    except ValueError:
        at = None
    if at is None or at.tzinfo is not None or ":" not in written:
        sentence = f"“{text}” is no time. Put day and time of day, such as 2026-05-03 08:30."
        raise NotAccepted.at(column, sentence)
    return at.strftime(CLOCK)


def _read_list(text: str, *, column: str) -> str:  # noqa: ARG001 - every reader is told its column
    return BETWEEN.join(part for one in text.split(";") if (part := " ".join(one.split())))


def _add(work: Work, values: Values) -> None:
    if values["withdrawn"] or values["withdraw_reason"]:
        raise NotAccepted.at("withdrawn", "A new treatment is not withdrawn. Clear this cell.")
    zone = work.session.scalars(select(Meta.zone)).one()
    entry = TreatmentEntry(
        kind=values["kind"],
        what=values["what"],
        begun_at=_instant(values["begun"], zone=zone),
        rate=values["rate"],
        target=values["target"],
        way=values["way"],
        reentry_at=_instant(values["reentry"], zone=zone) if values["reentry"] else None,
        by_id=person_of(work, typed=values["by"], column="by"),
        bench_ids=_ids(work, values, column="benches", find=bench_of),
        batch_ids=_ids(work, values, column="batches", find=batch_of),
        stock_plant_ids=_ids(work, values, column="stock_plants", find=stock_plant_of),
        notes=values["note"],
    )
    record_treatment(
        work.session,
        actor=writer_of(work, entering="treatments"),
        now=work.now,
        zone=zone,
        entry=entry,
    )


def _instant(text: str, *, zone: str) -> datetime:
    local = datetime.strptime(text, CLOCK).replace(tzinfo=ZoneInfo(zone))
    return local.astimezone(UTC)


def _ids(work: Work, values: Values, *, column: str, find: Callable[..., Any]) -> tuple[int, ...]:
    names = [name for name in values[column].split(BETWEEN) if name]
    return tuple(find(work, typed=name, column=column) for name in names)


TREATMENT_SHEET: Final = SheetKind(
    name="treatments",
    table=TREATMENTS,
    key="treatment",
    coded=True,
    needed=("kind", "what", "begun"),
    columns=(
        RecordColumn(name="treatment", read=_read_number),
        RecordColumn(name="kind", read=choice_reader(TreatmentKind)),
        RecordColumn(name="what"),
        RecordColumn(name="rate"),
        RecordColumn(name="target"),
        RecordColumn(name="way"),
        RecordColumn(name="by"),
        RecordColumn(name="withdrawn", read=read_yes, blank=False, fixed=_WITHDRAW),
        RecordColumn(name="withdraw_reason", fixed=_WITHDRAW),
        RecordColumn(name="note"),
        RecordColumn(name="begun", read=_read_time),
        RecordColumn(name="reentry", read=_read_time),
        RecordColumn(name="benches", read=_read_list),
        RecordColumn(name="batches", read=_read_list),
        RecordColumn(name="stock_plants", read=_read_list),
    ),
    columns_of={
        "begun_on": "begun",
        "begun_time": "begun",
        "reentry_on": "reentry",
        "reentry_time": "reentry",
        "notes": "note",
    },
    add=_add,
)
