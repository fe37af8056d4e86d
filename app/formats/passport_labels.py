"""Plant passports as labels in a PDF: the words inside a border line, on any sheet of labels.

Layout: Implementing Regulation (EU) 2017/2313, Article 2: inside a rectangle, legible without a
visual aid, clearly set apart by a border line; the title in the upper right-hand corner, the flag
of the Union, where there is one, in the upper left-hand corner, in black and white.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from math import cos, pi, sin
from typing import Final

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from app.domain.label_sheets import LabelSheet
from app.domain.plant_passports import PassportContent
from app.domain.problems import NotAccepted
from app.formats.label_fitting import Face
from app.formats.label_fonts import drawable, font_name, width_of
from app.formats.labels import check_start, sheet_canvas

BORDER_MM: Final = 1.0
SMALLEST_PT: Final = 6.0
"""Smaller writing cannot be read without a visual aid (common practice, no source)."""
_LARGEST_PT: Final = 11.0
_STEP_PT: Final = 0.25
_LEADING: Final = 1.2
_PAD_MM: Final = 1.2
_FLAG: Final = 3 / 2  # width to height, as the emblem's guide has it (from memory)
_STARS: Final = 12
_TOO_SMALL: Final = (
    "The words of this passport do not stand legibly on a label of {width:g} x {height:g} mm: "
    "choose a larger one."
)


@dataclass(frozen=True, kw_only=True)
class _Line:
    """A line below the title: the letter before the first one of an element, and its words."""

    letter: str
    words: str


def write_passport_labels(
    content: PassportContent, *, number: int, sheet: LabelSheet, start: int = 1
) -> bytes:
    """Return the PDF of so many equal labels on a sheet, the first at position `start`.

    Raises:
        NotAccepted: the sheet has no such position, or its labels are too small for the words.
    """
    check_start(start, sheet=sheet)
    size, lines = _fitted(content, sheet=sheet)
    target = BytesIO()
    canvas = sheet_canvas(target, sheet=sheet)
    for place in range(number):
        position = (start - 1 + place) % sheet.labels + 1
        if place and position == 1:
            canvas.showPage()
        _draw(canvas, content, lines=lines, size=size, sheet=sheet, position=position)
    canvas.showPage()
    canvas.save()
    return target.getvalue()


def _fitted(content: PassportContent, *, sheet: LabelSheet) -> tuple[float, tuple[_Line, ...]]:
    """Return the largest size at which everything stands on a label, and its lines at it."""
    width, height = _inner_pt(sheet)
    size = _LARGEST_PT
    while size >= SMALLEST_PT:
        lines = tuple(_lines(content, width=width, size=size))
        high = (1 + len(lines)) * size * _LEADING
        wide = max(_title_width(content, size=size), _widest(lines, size=size))
        if high <= height and wide <= width:
            return size, lines
        size -= _STEP_PT
    short, long = sheet.label_mm
    raise NotAccepted.at("sheet", _TOO_SMALL.format(width=short, height=long))


def _lines(content: PassportContent, *, width: float, size: float) -> Iterator[_Line]:
    room = width - _letter_pt(size)
    for letter, words in content.elements:
        for place, part in enumerate(_wrapped(drawable(words), room=room, size=size)):
            yield _Line(letter="" if place else f"{letter}.", words=part)


def _wrapped(words: str, *, room: float, size: float) -> Iterator[str]:
    line = ""
    for word in words.split():
        longer = f"{line} {word}".strip()
        if line and width_of(longer, face=Face.UPRIGHT) * size > room:
            yield line
            line = word
        else:
            line = longer
    yield line


def _widest(lines: tuple[_Line, ...], *, size: float) -> float:
    """Return how wide the widest line is, its letter included."""
    widths = (width_of(line.words, face=Face.UPRIGHT) * size for line in lines)
    return max(widths, default=0.0) + _letter_pt(size)


def _letter_pt(size: float) -> float:
    return width_of("M. ", face=Face.BOLD) * size


def _title_width(content: PassportContent, *, size: float) -> float:
    title = width_of(drawable(content.title), face=Face.BOLD) * size
    return title + (_FLAG * size * _LEADING + size if content.has_flag else 0.0)


def _inner_pt(sheet: LabelSheet) -> tuple[float, float]:
    inset = 2 * (BORDER_MM + _PAD_MM)
    return (sheet.label_mm[0] - inset) * mm, (sheet.label_mm[1] - inset) * mm


def _draw(
    canvas: Canvas,
    content: PassportContent,
    *,
    lines: tuple[_Line, ...],
    size: float,
    sheet: LabelSheet,
    position: int,
) -> None:
    left, top = sheet.place_mm(position)
    width, height = sheet.label_mm
    edge = (left + BORDER_MM) * mm, (sheet.page_mm[1] - top - height + BORDER_MM) * mm
    canvas.setLineWidth(0.8)
    canvas.rect(*edge, (width - 2 * BORDER_MM) * mm, (height - 2 * BORDER_MM) * mm)
    inner_left = (left + BORDER_MM + _PAD_MM) * mm
    inner_right = (left + width - BORDER_MM - _PAD_MM) * mm
    base = (sheet.page_mm[1] - top - BORDER_MM - _PAD_MM) * mm - size
    canvas.setFont(font_name(Face.BOLD), size)
    canvas.drawRightString(inner_right, base, drawable(content.title))
    if content.has_flag:
        _draw_flag(canvas, left=inner_left, base=base - 0.2 * size, height=size * _LEADING)
    for place, line in enumerate(lines, start=1):
        at = base - place * size * _LEADING
        canvas.setFont(font_name(Face.BOLD), size)
        canvas.drawString(inner_left, at, line.letter)
        canvas.setFont(font_name(Face.UPRIGHT), size)
        canvas.drawString(inner_left + _letter_pt(size), at, line.words)


def _draw_flag(canvas: Canvas, *, left: float, base: float, height: float) -> None:
    """Draw the flag of the Union in black and white: twelve stars in a ring inside a frame."""
    canvas.setLineWidth(0.4)
    canvas.rect(left, base, _FLAG * height, height)
    middle = left + _FLAG * height / 2, base + height / 2
    for star in range(_STARS):
        turn = 2 * pi * star / _STARS
        _draw_star(
            canvas,
            x=middle[0] + height / 3 * sin(turn),
            y=middle[1] + height / 3 * cos(turn),
            radius=height / 18,
        )


def _draw_star(canvas: Canvas, *, x: float, y: float, radius: float) -> None:
    path = canvas.beginPath()
    for point in range(5):
        turn = 4 * pi * point / 5  # every second corner of a pentagon, one corner upright
        corner = x + radius * sin(turn), y + radius * cos(turn)
        (path.lineTo if point else path.moveTo)(*corner)
    path.close()
    canvas.drawPath(path, stroke=0, fill=1, fillMode=1)
