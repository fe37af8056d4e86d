"""One line of a sheet as the rules see it: its number and its cells as text."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetLine:
    """A line of a sheet.

    `number` is the row number a spreadsheet shows, from 1, comments and empty rows counted.
    `cells` are the typed texts, stripped, "" for an empty cell.
    """

    number: int
    cells: tuple[str, ...]
