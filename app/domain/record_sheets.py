"""Sheets of records, one line for each: how they are read, and what differs from the log.

A column that is missing in the sheet changes nothing. A cell left blank under a column that is
there empties it, since such a sheet was taken out, edited and is read in again; the look over
shows it before anything is written.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final, TypeAlias

from app.domain.notebook import LineRemark, in_line_order
from app.domain.problems import NotAccepted
from app.domain.sheet_cells import CellReader, plain_lines, read_text
from app.domain.sheet_headers import SheetHeader, recognise_columns
from app.domain.sheet_lines import SheetLine

Values: TypeAlias = Mapping[str, Any]
_MOST_SHOWN: Final = 80


@dataclass(frozen=True, kw_only=True)
class RecordColumn:
    """One column: how its cells are read, and what a blank one means.

    With `fixed`, a sentence that says where this is changed, the cell only repeats the log. With
    `must` it cannot be emptied; blank in a new record it means the usual.
    """

    name: str
    read: CellReader = read_text
    blank: Any = ""
    fixed: str = ""
    must: bool = False


@dataclass(frozen=True, kw_only=True)
class RecordLine:
    """A line that could be read: its number and the value of each column the sheet has."""

    number: int
    values: Values


@dataclass(frozen=True, kw_only=True)
class RecordSheet:
    """A sheet after reading: its lines, what is wrong by line, headings that are not read."""

    lines: tuple[RecordLine, ...]
    numbers: tuple[int, ...]
    wrong: tuple[LineRemark, ...]
    ignored: tuple[str, ...]


def read_records(
    lines: Iterable[SheetLine],
    *,
    columns: Sequence[RecordColumn],
    unread: Sequence[str],
    required: Sequence[str],
    sheet: str,
) -> RecordSheet:
    """Return the sheet as it was understood; the first line is its header.

    `unread` are columns that such a sheet is taken out with and that say nothing coming in.

    Raises:
        NotAccepted: the header lacks a column, has one twice, or one that is nearly right.
    """
    rows = iter(lines)
    names = [column.name for column in columns]
    header = recognise_columns(
        next(rows).cells, columns=names, unread=unread, required=required, sheet=sheet
    )
    present = [column for column in columns if column.name in header.places]
    read: list[RecordLine] = []
    wrong: list[LineRemark] = []
    numbers: list[int] = []
    for row in rows:
        numbers.append(row.number)
        values, problems = _values(row, columns=present, header=header)
        wrong += problems
        if not problems:
            read.append(RecordLine(number=row.number, values=values))
    return RecordSheet(
        lines=tuple(read),
        numbers=tuple(numbers),
        wrong=in_line_order(wrong),
        ignored=header.ignored,
    )


def differing(
    stored: Values, *, wanted: Values, columns: Sequence[RecordColumn]
) -> dict[str, tuple[Any, Any]]:
    """Return column -> (stored, wanted) of what the sheet says otherwise than the log."""
    found = {}
    for column in columns:
        if column.name in wanted:
            before = column.blank if stored[column.name] is None else stored[column.name]
            after = wanted[column.name]
            if _comparable(before) != _comparable(after):
                found[column.name] = (before, after)
    return found


def change_remarks(line: int, *, changes: Mapping[str, tuple[Any, Any]]) -> Iterator[LineRemark]:
    """Yield what the log has and would have, one sentence for each column."""
    for column, (before, after) in changes.items():
        sentence = f"{_shown(before)} in the log becomes {_shown(after)}."
        yield LineRemark(line=line, column=column, sentence=sentence)


def kept_remarks(
    line: int, *, changes: Mapping[str, tuple[Any, Any]], columns: Sequence[RecordColumn]
) -> Iterator[LineRemark]:
    """Yield a sentence for each column that a sheet cannot change, or not to a blank."""
    for column in columns:
        if column.name not in changes:
            continue
        if column.fixed:
            yield LineRemark(line=line, column=column.name, sentence=column.fixed)
        elif column.must and changes[column.name][1] == column.blank:
            sentence = "This cannot be blank. Say it, or take the column out of the sheet."
            yield LineRemark(line=line, column=column.name, sentence=sentence)


def _values(
    row: SheetLine, *, columns: Sequence[RecordColumn], header: SheetHeader
) -> tuple[Values, list[LineRemark]]:
    if any(row.cells[header.width :]):
        sentence = "This line has more cells than the header. Is a comma too many in it?"
        return {}, [LineRemark(line=row.number, column="", sentence=sentence)]
    values: dict[str, Any] = {}
    problems: list[LineRemark] = []
    for column in columns:
        place = header.places[column.name]
        text = plain_lines(row.cells[place]) if place < len(row.cells) else ""
        try:
            values[column.name] = column.read(text, column=column.name) if text else column.blank
        except NotAccepted as refusal:
            problems += remarks_of(refusal, line=row.number)
    return values, problems


def remarks_of(
    refusal: NotAccepted, *, line: int, columns: Mapping[str, str] | None = None
) -> list[LineRemark]:
    """Return a refusal's sentences as remarks on a line; `columns` maps fields to columns."""
    named = columns or {}
    return [
        LineRemark(
            line=line, column=named.get(problem.field, problem.field), sentence=problem.sentence
        )
        for problem in refusal.problems
    ]


def _comparable(value: Any) -> Any:
    return plain_lines(value) if isinstance(value, str) else value


def _shown(value: Any) -> str:
    if value is None or value == "":
        return "blank"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return f"{value:.10g}"
    text = str(value)
    return text if len(text) <= _MOST_SHOWN else f"{text[:_MOST_SHOWN]}…"
