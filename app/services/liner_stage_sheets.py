"""The sheet of liner stages: new ones of batches and of lots; one in the log is never edited."""

from collections.abc import Iterator
from typing import Any, Final

from sqlalchemy import func, select

from app.domain.liner_entries import INTO_CONTAINERS, StageEntry
from app.domain.liner_stages import PARTLY, Stage
from app.domain.problems import NotAccepted, Problem
from app.domain.record_sheets import RecordColumn, Values
from app.domain.sheet_cells import (
    choice_reader,
    read_any_day,
    read_decimal,
    read_whole,
    read_yes,
)
from app.services.liner_lots import pot_up, record_stage
from app.services.liner_stages import record_batch_stage
from app.services.record_sheets import SheetKind, Work
from app.services.sheet_names import (
    batch_of,
    bench_of,
    container_of,
    mix_lot_of,
    person_of,
    writer_of,
)
from app.store.models.lost_causes import LostCause
from app.store.queries.liner_exports import LINER_STAGES
from app.store.queries.liner_lots import find_liner_lot_id

_WITHDRAW: Final = "Withdraw a stage on its own page, which asks for the reason."
_MADE: Final = "The log gives this itself. Clear this cell."
_MOST: Final = 200
_OF_BATCHES: Final = (Stage.WEANING, Stage.POTTED_UP, Stage.LOST)
_OF_LOTS: Final = tuple(set(Stage) - {Stage.WEANING, Stage.POTTED_UP})
_SAID_OF: Final = {
    "batch": _OF_BATCHES,
    "liner_lot": _OF_LOTS,
    "container": INTO_CONTAINERS,
    "mix_lot": INTO_CONTAINERS,
    "litres": INTO_CONTAINERS,
    "cause": (Stage.LOST,),
    "grade": (Stage.GRADED_OUT,),
    "bench": (Stage.POTTED_UP,),
    "trays": (Stage.POTTED_UP,),
}
"""The stages that a column says something of."""
_ELSEWHERE: Final = {
    Stage.SENT_OUT: "Read plants that left in with a sheet of dispatches.",
    Stage.KEPT: "Keep plants as stock plants on the page of their lot.",
    Stage.SPLIT: "Split a lot on its own page.",
    Stage.MERGED: "Merge lots on their page.",
}
_PART: Final = "Here this is said of the whole lot: leave it blank, or split the lot on its page."


def _add(work: Work, values: Values) -> None:
    if problems := tuple(_problems(values)):
        raise NotAccepted(problems)
    stage, actor = values["stage"], writer_of(work, entering="liner stages")
    entry = _entry(work, values)
    kept: dict[str, Any] = {"actor": actor, "today": work.today, "now": work.now, "entry": entry}
    batch_id = batch_of(work, typed=values["batch"], column="batch")
    if batch_id is None:
        lot_id = _lot_of(work, typed=values["liner_lot"])
        record_stage(work.session, lot_id=lot_id, **kept)
    elif stage is Stage.POTTED_UP:
        pot_up(work.session, batch_id=batch_id, **kept)
    else:
        record_batch_stage(work.session, batch_id=batch_id, **kept)


def _problems(values: Values) -> Iterator[Problem]:
    """Yield what cannot be said of this stage in a sheet, so that nothing is lost unseen."""
    stage = values["stage"]
    if stage in _ELSEWHERE:
        yield Problem(field="stage", sentence=_ELSEWHERE[stage])
        return
    for column, stages in _SAID_OF.items():
        if values[column] not in (None, "") and stage not in stages:
            yield Problem(field=column, sentence=f"This is not said of “{stage}”. Clear this cell.")
    if stage in PARTLY and values["number"] is not None:
        yield Problem(field="number", sentence=_PART)
    if values["litres"] is not None and not values["mix_lot"]:
        yield Problem(field="mix_lot", sentence="Say of which mix lot the litres were.")
    if bool(values["batch"]) is bool(values["liner_lot"]):
        column = "liner_lot" if stage in _OF_LOTS else "batch"
        yield Problem(field=column, sentence=_whose(stage))


def _whose(stage: Stage) -> str:
    if stage not in _OF_LOTS:
        return "Say of which batch it is."
    if stage not in _OF_BATCHES:
        return "Say of which liner lot it is."
    return "Say of which batch or of which liner lot it is, and not both."


def _entry(work: Work, values: Values) -> StageEntry:
    return StageEntry(
        stage=values["stage"],
        on=values["reached_on"],
        number=values["number"],
        container_id=container_of(work, typed=values["container"], column="container"),
        mix_lot_id=mix_lot_of(work, typed=values["mix_lot"], column="mix_lot"),
        litres=values["litres"],
        cause_id=_cause_of(work, typed=values["cause"]),
        grade=values["grade"],
        bench_id=bench_of(work, typed=values["bench"], column="bench"),
        trays=values["trays"],
        person_id=person_of(work, typed=values["by"], column="by"),
        notes=values["note"],
    )


def _lot_of(work: Work, *, typed: str) -> int:
    found = find_liner_lot_id(work.session, code=typed)
    if found is None:
        raise NotAccepted.at("liner_lot", f"There is no liner lot {typed} in the log.")
    return found


def _cause_of(work: Work, *, typed: str) -> int | None:
    if not typed:
        return None
    query = select(LostCause.id).where(func.lower(LostCause.name) == typed.lower())
    found = work.session.scalar(query)
    if found is None:
        raise NotAccepted.at("cause", f"There is no cause of loss called {typed}. Add it first.")
    return found


LINER_STAGE_SHEET: Final = SheetKind(
    name="liner-stages",
    table=LINER_STAGES,
    key="entry",
    coded=True,
    needed=("stage", "reached_on"),
    columns=(
        RecordColumn(name="entry", read=read_whole),
        RecordColumn(name="stage", read=choice_reader(Stage)),
        RecordColumn(name="reached_on", read=read_any_day, blank=None),
        RecordColumn(name="batch"),
        RecordColumn(name="liner_lot"),
        RecordColumn(name="number", read=read_whole, blank=None),
        RecordColumn(name="into_lot", fixed=_MADE),
        RecordColumn(name="trays", read=read_whole, blank=None),
        RecordColumn(name="container"),
        RecordColumn(name="mix_lot"),
        RecordColumn(name="litres", read=read_decimal, blank=None),
        RecordColumn(name="cause"),
        RecordColumn(name="grade"),
        RecordColumn(name="stock_plant", fixed=_MADE),
        RecordColumn(name="by"),
        RecordColumn(name="withdrawn", read=read_yes, blank=False, fixed=_WITHDRAW),
        RecordColumn(name="withdraw_reason", fixed=_WITHDRAW),
        RecordColumn(name="note"),
        RecordColumn(name="bench"),
    ),
    columns_of={"on": "reached_on", "notes": "note", "rooted": "number"},
    add=_add,
    most=_MOST,
)
