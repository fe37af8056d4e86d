"""The sheet of dispatches: new ones are sent out; one in the log is corrected on its page."""

from typing import Final

from app.domain.codes import parse_dispatch_code
from app.domain.dispatches import DispatchEntry, SentLine, read_lines
from app.domain.problems import NotAccepted
from app.domain.record_sheets import RecordColumn, Values
from app.domain.sheet_cells import read_any_day, read_yes
from app.services.dispatches import send_out
from app.services.record_sheets import SheetKind, Work
from app.services.sheet_names import writer_of
from app.store.queries.liner_exports import BETWEEN, DISPATCHES

_WITHDRAW: Final = "Withdraw a dispatch on its own page, which asks for the reason."
_MOST: Final = 100


def _read_number(text: str, *, column: str) -> int:
    number = int(text) if text.isdecimal() and len(text) < 10 else parse_dispatch_code(text)
    if number is None:
        raise NotAccepted.at(column, f"“{text}” is no number of a dispatch, such as G-0012.")
    return number


def _read_sent(text: str, *, column: str) -> str:
    """Return what was sent, each a code and a number, as such sheets are written."""
    sent = [line for part in text.replace("\n", ";").split(";") for line in _sent(part, column)]
    return BETWEEN.join(f"{line.code} {line.number}" for line in sent)


def _sent(part: str, column: str) -> tuple[SentLine, ...]:
    try:
        return read_lines(part)
    except NotAccepted as refusal:
        sentence = (
            f"“{part.strip()}” is to be a code and a number, such as L-0001 120. Put a semicolon "
            "between several."
        )
        raise NotAccepted.at(column, sentence) from refusal


def _add(work: Work, values: Values) -> None:
    entry = DispatchEntry(
        sent_on=values["sent_on"],
        to_name=values["to_whom"],
        reference=values["reference"],
        lines=read_lines(values["lines"].replace(BETWEEN, "\n")),
        notes=values["note"],
    )
    actor = writer_of(work, entering="dispatches")
    send_out(work.session, actor=actor, today=work.today, now=work.now, entry=entry)


DISPATCH_SHEET: Final = SheetKind(
    name="dispatches",
    table=DISPATCHES,
    key="dispatch",
    coded=True,
    needed=("sent_on", "to_whom", "lines"),
    columns=(
        RecordColumn(name="dispatch", read=_read_number),
        RecordColumn(name="sent_on", read=read_any_day, blank=None),
        RecordColumn(name="to_whom"),
        RecordColumn(name="reference"),
        RecordColumn(name="withdrawn", read=read_yes, blank=False, fixed=_WITHDRAW),
        RecordColumn(name="withdraw_reason", fixed=_WITHDRAW),
        RecordColumn(name="note"),
        RecordColumn(name="lines", read=_read_sent),
    ),
    columns_of={"to_name": "to_whom", "notes": "note"},
    add=_add,
    most=_MOST,
)
