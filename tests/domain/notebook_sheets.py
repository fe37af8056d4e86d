"""Short notebook sheets for tests, written with bars between their cells."""

from datetime import date

from app.domain.notebook import NotebookSheet
from app.domain.notebook_batches import read_notebook
from app.domain.sheet_lines import SheetLine

TODAY = date(2026, 11, 25)


def lines_of(text: str) -> list[SheetLine]:
    """Return the lines of a sheet written with | between its cells."""
    return [
        SheetLine(number=number, cells=tuple(cell.strip() for cell in line.split("|")))
        for number, line in enumerate(text.strip().splitlines(), start=1)
    ]


def notebook(text: str) -> NotebookSheet:
    """Return the sheet as it is understood."""
    return read_notebook(lines_of(text), today=TODAY)


def wrong_of(sheet: NotebookSheet) -> list[tuple[int, str]]:
    """Return (line, column) of everything wrong."""
    return [(remark.line, remark.column) for remark in sheet.wrong]
