"""The sheet of what happened to stock plants by day: new lines only, none is ever edited."""

from typing import Final

from app.domain.problems import NotAccepted, NotAllowed, Problem
from app.domain.record_sheets import RecordColumn, Values
from app.domain.sheet_cells import choice_reader, read_any_day, read_whole, read_yes
from app.domain.stock_plant_events import AHEAD, JUDGED, EventEntry, EventKind, Result
from app.services.record_sheets import SheetKind, Work
from app.services.sheet_names import person_of, stock_plant_of, writer_of
from app.services.stock_plant_events import record_event
from app.store.queries.happening_exports import STOCK_PLANT_DAYS

_WITHDRAW: Final = "Withdraw an entry on the page of its stock plant, which asks for the reason."
_MOST: Final = 200
_SAID_OF: Final = {
    "plants": (EventKind.COUNTED,),
    "about": (EventKind.TESTED,),
    "result": JUDGED,
    "finding": JUDGED,
    "until_on": AHEAD,
}
"""The kinds that a column says something of."""


def _add(work: Work, values: Values) -> None:
    kind = values["kind"]
    _refuse_other_columns(values, kind=kind)
    stock_plant_id = stock_plant_of(work, typed=values["stock_plant"], column="stock_plant")
    entry = EventEntry(
        kind=kind,
        happened_on=values["happened_on"],
        by_id=person_of(work, typed=values["by"], column="by"),
        plants=values["plants"],
        about=values["about"],
        result=values["result"] or Result.NONE,
        finding=values["finding"],
        until_on=values["until_on"],
        note=values["note"],
    )
    try:
        record_event(
            work.session,
            actor=writer_of(work, entering="stock plant days"),
            today=work.today,
            now=work.now,
            stock_plant_id=stock_plant_id,
            entry=entry,
        )
    except NotAllowed as refusal:
        raise NotAccepted.at("kind", str(refusal)) from refusal


def _refuse_other_columns(values: Values, *, kind: EventKind) -> None:
    """Refuse what the page of this kind does not ask for, so that it is not lost unseen.

    Raises:
        NotAccepted: at each such column.
    """
    sentence = f"This is not said of “{kind}”. Clear this cell."
    problems = tuple(
        Problem(field=column, sentence=sentence)
        for column, kinds in _SAID_OF.items()
        if values[column] not in (None, "") and kind not in kinds
    )
    if problems:
        raise NotAccepted(problems)


STOCK_PLANT_DAY_SHEET: Final = SheetKind(
    name="stock-plant-days",
    table=STOCK_PLANT_DAYS,
    key="entry",
    coded=True,
    needed=("stock_plant", "kind", "happened_on"),
    columns=(
        RecordColumn(name="entry", read=read_whole),
        RecordColumn(name="stock_plant"),
        RecordColumn(name="kind", read=choice_reader(EventKind)),
        RecordColumn(name="happened_on", read=read_any_day, blank=None),
        RecordColumn(name="by"),
        RecordColumn(name="plants", read=read_whole, blank=None),
        RecordColumn(name="about"),
        RecordColumn(name="result", read=choice_reader(Result)),
        RecordColumn(name="finding"),
        RecordColumn(name="until_on", read=read_any_day, blank=None),
        RecordColumn(name="withdrawn", read=read_yes, blank=False, fixed=_WITHDRAW),
        RecordColumn(name="withdraw_reason", fixed=_WITHDRAW),
        RecordColumn(name="note"),
    ),
    add=_add,
    most=_MOST,
)
