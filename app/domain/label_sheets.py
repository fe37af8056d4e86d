"""Sheets of labels and single labels of a roll, described by their measures in mm.

A sheet's name says its paper, how many labels it has and how large each is. Whoever has other
labels measures them with a ruler and types what was measured.
"""

import re
from dataclasses import dataclass
from typing import Final

from app.domain.problems import NotAccepted, Problem

A4_MM: Final = (210.0, 297.0)
LETTER_MM: Final = (215.9, 279.4)
SHORTEST_MM: Final = 18.0
"""No side of a label is shorter: a code that a phone can read would not fit."""
SHORTEST_LONG_MM: Final = 32.0
"""The longer side of a label is never shorter than this: nothing could be written by the code."""
LONGEST_MM: Final = 500.0
MOST_ACROSS: Final = 40
_UNPRINTED_MM: Final = 4.5
_PAD_MM: Final = 2.0
_ROLL_PAD_MM: Final = 1.5
_TOLERANCE_MM: Final = 0.05
# As people type the sign, too.
_BY: Final = r"\s*(?:x|×|\*|by)\s*"
_NUMBER: Final = r"[0-9]{1,3}(?:[.,][0-9]{1,3})?"
_SINGLE: Final = re.compile(rf"(?:roll,?\s*)?({_NUMBER}){_BY}({_NUMBER})(?:\s*mm)?", re.IGNORECASE)
_WHOLE: Final = re.compile(
    rf"({_NUMBER}){_BY}({_NUMBER})\s*:\s*([0-9]{{1,2}}){_BY}([0-9]{{1,2}})\s*of\s*"
    rf"({_NUMBER}){_BY}({_NUMBER}),?\s*from\s*({_NUMBER}){_BY}({_NUMBER})"
    rf"(?:,?\s*gaps?\s*({_NUMBER}){_BY}({_NUMBER}))?(?:\s*mm)?",
    re.IGNORECASE,
)
_EXAMPLES: Final = (
    'Give the name of a sheet, "62 x 29" for a single label in mm, or a sheet as '
    '"210 x 297: 3 x 8 of 70 x 37, from 0 x 0.5, gap 0 x 0".'
)


@dataclass(frozen=True, kw_only=True)
class LabelSheet:
    """Labels alike on a page, all measures in mm.

    `left` and `top` are from the edges of the page to the first label, the gaps between labels.
    A page that is one label is a single label of a roll.
    """

    name: str
    page_mm: tuple[float, float]
    label_mm: tuple[float, float]
    across: int = 1
    down: int = 1
    left_mm: float = 0.0
    top_mm: float = 0.0
    gap_x_mm: float = 0.0
    gap_y_mm: float = 0.0

    @property
    def labels(self) -> int:
        """How many labels a sheet has."""
        return self.across * self.down

    @property
    def is_roll(self) -> bool:
        """Whether each page is a single label."""
        return self.labels == 1 and self.page_mm == self.label_mm

    def place_mm(self, position: int) -> tuple[float, float]:
        """Return how far the label at a position, 1 for the first, lies from left and from top.

        Positions count along the rows, as one reads.
        """
        row, column = divmod(position - 1, self.across)
        return (
            self.left_mm + column * (self.label_mm[0] + self.gap_x_mm),
            self.top_mm + row * (self.label_mm[1] + self.gap_y_mm),
        )

    def pages(self, labels: int, *, start: int = 1) -> int:
        """Return how many pages so many labels take, the first of them at position `start`."""
        return -(-(start - 1 + labels) // self.labels)

    @property
    def pads_mm(self) -> tuple[float, float]:
        """The white to leave inside each label at its sides, and at its top and bottom.

        Most printers for sheets leave a rim of the paper white (common practice, no source:
        4.5 mm is taken here), so labels that reach the rim get a wider margin, all of them alike.
        """
        if self.is_roll:
            return _ROLL_PAD_MM, _ROLL_PAD_MM
        last_x, last_y = self.place_mm(self.labels)
        right = self.page_mm[0] - last_x - self.label_mm[0]
        bottom = self.page_mm[1] - last_y - self.label_mm[1]
        return (
            max(_PAD_MM, _UNPRINTED_MM - min(self.left_mm, right)),
            max(_PAD_MM, _UNPRINTED_MM - min(self.top_mm, bottom)),
        )

    @property
    def words(self) -> str:
        """Its measures in one line."""
        width, height = self.label_mm
        if self.is_roll:
            return f"single labels {width:g} mm wide and {height:g} mm high"
        gaps = f"{self.gap_x_mm:g} mm and {self.gap_y_mm:g} mm"
        return (
            f"{self.across} across and {self.down} down, each {width:g} x {height:g} mm; "
            f"the first {self.left_mm:g} mm from the left and {self.top_mm:g} mm from the top; "
            f"gaps of {gaps}; page {self.page_mm[0]:g} x {self.page_mm[1]:g} mm"
        )


def _centred(
    paper: str,
    *,
    page_mm: tuple[float, float],
    grid: tuple[int, int],
    label_mm: tuple[float, float],
    gap_x_mm: float = 0.0,
) -> LabelSheet:
    """Return a sheet whose labels stand in the middle of the page, with no gap between rows."""
    across, down = grid
    width, height = label_mm
    left = (page_mm[0] - across * width - (across - 1) * gap_x_mm) / 2
    top = (page_mm[1] - down * height) / 2
    return LabelSheet(
        name=f"{paper}, {across * down} of {width:g} x {height:g}",
        page_mm=page_mm,
        label_mm=label_mm,
        across=across,
        down=down,
        left_mm=round(left, 3),
        top_mm=round(top, 3),
        gap_x_mm=gap_x_mm,
    )


def single_label(size_mm: tuple[float, float]) -> LabelSheet:
    """Return a single label of a roll."""
    width, height = size_mm
    return LabelSheet(name=f"Roll, {width:g} x {height:g}", page_mm=size_mm, label_mm=size_mm)


_A4: Final = (
    ((3, 8), (70.0, 37.0), 0.0),
    ((3, 8), (64.0, 33.9), 2.5),
    ((3, 7), (63.5, 38.1), 2.5),
    ((2, 7), (99.1, 38.1), 2.5),
    ((2, 6), (105.0, 48.0), 0.0),
    ((2, 4), (99.1, 67.7), 2.5),
    ((4, 10), (48.5, 25.4), 0.0),
    ((5, 13), (38.1, 21.2), 2.5),
)
_LETTER: Final = (
    ((3, 10), (66.7, 25.4), 3.1),
    ((2, 10), (101.6, 25.4), 4.0),
    ((2, 7), (101.6, 33.8), 4.0),
    ((2, 5), (101.6, 50.8), 4.0),
    ((2, 3), (101.6, 84.6), 4.0),
)
_ROLLS: Final = ((62.0, 29.0), (54.0, 25.0), (57.0, 32.0), (89.0, 36.0), (100.0, 50.0))

SHEETS: Final[tuple[LabelSheet, ...]] = (
    *(
        _centred("A4", page_mm=A4_MM, grid=grid, label_mm=size, gap_x_mm=gap)
        for grid, size, gap in _A4
    ),
    *(
        _centred("Letter", page_mm=LETTER_MM, grid=grid, label_mm=size, gap_x_mm=gap)
        for grid, size, gap in _LETTER
    ),
    *(single_label(size) for size in _ROLLS),
)
"""Common sheets and single labels. Measures: common practice, no source; print a test first."""


def parse_sheet(text: str, *, field: str = "sheet") -> LabelSheet:
    """Return the sheet of this name, or the one whose own measures were typed.

    Raises:
        NotAccepted: there is no such sheet, or its labels cannot be.
    """
    line = " ".join(text.replace("×", "x").split())
    for sheet in SHEETS:
        if sheet.name.casefold() == line.casefold():
            return sheet
    if single := _SINGLE.fullmatch(line):
        width, height = (_mm(typed) for typed in single.groups())
        return accepted_sheet(single_label((width, height)), field=field)
    whole = _WHOLE.fullmatch(line)
    if whole is None:
        raise NotAccepted.at(field, _EXAMPLES)
    page_w, page_h, across, down, *rest = whole.groups(default="0")
    width, height, left, top, gap_x, gap_y = (_mm(typed) for typed in rest)
    sheet = own_sheet(
        page_mm=(_mm(page_w), _mm(page_h)),
        grid=(int(across), int(down)),
        label_mm=(width, height),
        start_mm=(left, top),
        gaps_mm=(gap_x, gap_y),
    )
    return accepted_sheet(sheet, field=field)


def own_sheet(
    *,
    page_mm: tuple[float, float],
    grid: tuple[int, int],
    label_mm: tuple[float, float],
    start_mm: tuple[float, float],
    gaps_mm: tuple[float, float],
) -> LabelSheet:
    """Return a sheet of one's own measures; its name tells them all and is read back as it."""
    name = (
        f"{page_mm[0]:g} x {page_mm[1]:g}: {grid[0]} x {grid[1]} of "
        f"{label_mm[0]:g} x {label_mm[1]:g}, from {start_mm[0]:g} x {start_mm[1]:g}, "
        f"gap {gaps_mm[0]:g} x {gaps_mm[1]:g}"
    )
    return LabelSheet(
        name=name,
        page_mm=page_mm,
        label_mm=label_mm,
        across=grid[0],
        down=grid[1],
        left_mm=start_mm[0],
        top_mm=start_mm[1],
        gap_x_mm=gaps_mm[0],
        gap_y_mm=gaps_mm[1],
    )


def accepted_sheet(sheet: LabelSheet, *, field: str = "sheet") -> LabelSheet:
    """Return the sheet if labels can be printed on it.

    Raises:
        NotAccepted: at `field`: a label too small, no label, or more than the page holds.
    """
    problems = tuple(Problem(field=field, sentence=said) for said in _wrong(sheet))
    if problems:
        raise NotAccepted(problems)
    return sheet


def _wrong(sheet: LabelSheet) -> list[str]:
    short, long = sorted(sheet.label_mm)
    if short < SHORTEST_MM or long < SHORTEST_LONG_MM:
        least = f"{SHORTEST_MM:g} x {SHORTEST_LONG_MM:g} mm"
        return [f"A label is at least {least}: a smaller one cannot be read."]
    if max(*sheet.page_mm, long) > LONGEST_MM:
        return [f"Give measures in mm, at most {LONGEST_MM:g}."]
    if not (1 <= sheet.across <= MOST_ACROSS and 1 <= sheet.down <= MOST_ACROSS):
        return [f"Give 1 to {MOST_ACROSS} labels across, and 1 to {MOST_ACROSS} down."]
    said = []
    last_x, last_y = sheet.place_mm(sheet.labels)
    for reach, room, words in (
        (last_x + sheet.label_mm[0], sheet.page_mm[0], "wide"),
        (last_y + sheet.label_mm[1], sheet.page_mm[1], "high"),
    ):
        if reach > room + _TOLERANCE_MM:
            said.append(
                f"These labels would need {reach:g} mm, but the page is {room:g} mm {words}."
            )
    return said


def _mm(typed: str) -> float:
    return float(typed.replace(",", "."))
