"""A sheet of orders to plan a season by: its columns, and its lines read into what is wanted."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final

from app.domain.days import parse_day_or_week
from app.domain.measures import parse_measure
from app.domain.orders import (
    LEAST_SURE,
    MOST_BATCHES,
    MOST_PLANTS,
    MOST_SURE,
    MOST_WINDOW_WEEKS,
    USUAL_BATCHES,
    USUAL_SURE,
    USUAL_WINDOW_WEEKS,
)
from app.domain.problems import NotAccepted, Problem
from app.domain.quantities import parse_quantity
from app.domain.sheet_lines import SheetLine

NEEDED: Final = ("plant", "plants", "due")
COLUMNS: Final = (*NEEDED, "sure", "batches", "window_weeks")


@dataclass(frozen=True, kw_only=True)
class OrderLine:
    """One line of the sheet: `plants` of a `plant`, as it is typed, by a day."""

    number: int
    plant: str
    plants: int
    due_on: date
    sure_share: float
    batches: int
    window_weeks: int


def read_order_lines(lines: Iterable[SheetLine], *, today: date) -> tuple[OrderLine, ...]:
    """Return the orders of a sheet whose first line names its columns.

    Raises:
        NotAccepted: a column is missing or unknown, there is no line, or one is wrong: each with
            its number and what to do about it.
    """
    rest = iter(lines)
    header = next(rest, None)
    names = [cell.strip().lower() for cell in header.cells] if header else []
    if missing := [name for name in NEEDED if name not in names]:
        raise NotAccepted.at("orders", f"The first line has no column {', '.join(missing)}.")
    if unknown := [name for name in names if name and name not in COLUMNS]:
        listed = ", ".join(COLUMNS)
        raise NotAccepted.at("orders", f"Unknown column {', '.join(unknown)}: known are {listed}.")
    read: list[OrderLine] = []
    problems: list[Problem] = []
    for line in rest:
        cells = dict(zip(names, (cell.strip() for cell in line.cells), strict=False))
        try:
            read.append(_line(line.number, cells, today=today))
        except NotAccepted as refused:
            problems.extend(_numbered(refused, number=line.number))
    if problems:
        raise NotAccepted(tuple(problems))
    if not read:
        raise NotAccepted.at("orders", "There is no order in the sheet below its first line.")
    return tuple(read)


def _numbered(refused: NotAccepted, *, number: int) -> Iterator[Problem]:
    for problem in refused.problems:
        sentence = f"Line {number}, {problem.field}: {problem.sentence}"
        yield Problem(field=problem.field, sentence=sentence)


def _line(number: int, cells: dict[str, str], *, today: date) -> OrderLine:
    if not cells["plant"]:
        raise NotAccepted.at("plant", "Name a plant, or a genus.")
    due_on = parse_day_or_week(cells["due"], today=today, field="due")
    if due_on <= today:
        raise NotAccepted.at("due", "This day is not to come any more: give one after today.")
    return OrderLine(
        number=number,
        plant=cells["plant"],
        plants=parse_quantity(cells["plants"], field="plants", least=1, most=MOST_PLANTS).number,
        due_on=due_on,
        sure_share=_sure(cells.get("sure", "")),
        batches=_whole(cells, "batches", usual=USUAL_BATCHES, most=MOST_BATCHES),
        window_weeks=_whole(
            cells, "window_weeks", usual=USUAL_WINDOW_WEEKS, most=MOST_WINDOW_WEEKS
        ),
    )


def _whole(cells: dict[str, str], field: str, *, usual: int, most: int) -> int:
    typed = cells.get(field, "")
    return parse_quantity(typed, field=field, least=1, most=most).number if typed else usual


def _sure(typed: str) -> float:
    """Return the share typed as "0.9", "90" or "90 %"."""
    value = parse_measure(typed, field="sure", low=0, high=100, unit="%")
    if value is None:
        return USUAL_SURE
    share = value if value < 1 else value / 100
    if not LEAST_SURE <= share <= MOST_SURE:
        raise NotAccepted.at("sure", f"Say how sure, from {LEAST_SURE:g} to {MOST_SURE:g}.")
    return share
