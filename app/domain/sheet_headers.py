"""How the header of a sheet that people typed is recognised."""

import difflib
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from app.domain.problems import NotAccepted, Problem

_ALIKE: Final = 0.8


@dataclass(frozen=True, kw_only=True)
class SheetHeader:
    """Which cell of a line holds which column; `ignored` are the headings that mean nothing here.

    `width` is how many cells the header has.
    """

    places: Mapping[str, int]
    ignored: tuple[str, ...]
    width: int


def recognise_columns(
    cells: Sequence[str],
    *,
    columns: Sequence[str],
    required: Sequence[str],
    sheet: str,
    unread: Sequence[str] = (),
) -> SheetHeader:
    """Return where each column stands; case, spaces and signs between words do not matter.

    `sheet` is what the sheet is called where a column is missing; headings of `unread` may stand
    there and mean nothing.

    Raises:
        NotAccepted: a column of `required` is missing, one stands twice, or a heading is nearly
            one of the columns and would be lost unseen.
    """
    known = {heading_key(column): column for column in columns}
    places: dict[str, int] = {}
    ignored: list[str] = []
    problems: list[Problem] = []
    for place, cell in enumerate(cells):
        heading = cell.strip()
        column = known.get(heading_key(heading))
        if not heading:
            continue
        if column is None:
            problems += () if heading in unread else _nearly(heading, known)
            ignored.append(heading)
        elif column in places:
            sentence = f"The column {column} stands twice. Take one of the two out."
            problems.append(Problem(field=column, sentence=sentence))
        else:
            places[column] = place
    problems += _missing(places, required=required, sheet=sheet)
    if problems:
        raise NotAccepted(tuple(problems))
    return SheetHeader(places=places, ignored=tuple(ignored), width=len(cells))


def heading_key(heading: str) -> str:
    """Return a heading folded for comparing: "Bottom heat °C" and "bottom_heat_c" are one."""
    folded = unicodedata.normalize("NFKC", heading).casefold()
    return re.sub(r"[^a-z0-9]", "", folded)


def _nearly(heading: str, known: Mapping[str, str]) -> list[Problem]:
    found = difflib.get_close_matches(heading_key(heading), known, n=1, cutoff=_ALIKE)
    return [
        Problem(
            field=known[key],
            sentence=f"“{heading}” is no column. Write {known[key]} if that is meant, or a heading"
            " less like it.",
        )
        for key in found
    ]


def _missing(places: Mapping[str, int], *, required: Sequence[str], sheet: str) -> list[Problem]:
    return [
        Problem(
            field=column,
            sentence=f"The column {column} is missing. Add it to the header; {sheet} needs"
            f" {', '.join(required)}.",
        )
        for column in required
        if column not in places
    ]
