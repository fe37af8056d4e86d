"""Labels as a PDF: each with its name, code and line, and a QR code of its address.

The same labels on the same sheet give the same bytes. Everything is drawn, black on white, so
that it prints as sharp as the printer can.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Final

import segno
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from app.domain.label_sheets import LabelSheet
from app.domain.labels import Label
from app.domain.plant_name_parts import SIGN
from app.domain.problems import NotAccepted
from app.formats.label_fitting import LEADING, Face, Fitted, Run, fit
from app.formats.label_fonts import ASCENT, drawable, font_name, width_of

QUIET_MODULES: Final = 4
"""White around a QR code, in modules (ISO/IEC 18004, from memory)."""
SMALLEST_MODULE_MM: Final = 0.38
LARGEST_MODULE_MM: Final = 0.75
_QR_SHARE: Final = 0.42
_LEAST_TEXT_MM: Final = 13.0
_GAP_MM: Final = 1.0
_LARGEST_NAME_PT: Final = 16.0
_LARGEST_CODE_PT: Final = 24.0
_GIVING_WAY: Final = ((0.3, 9.0), (0.24, 7.0), (0.2, 6.0), (0.16, 6.0))
"""How much of a label's height the code takes at most, and the largest size of the lines below."""
_SAID_SHARE: Final = 0.34
_TOO_LONG: Final = (
    "The address {address} is too long for a label of {width:g} x {height:g} mm: choose a larger "
    "label, or a shorter address."
)


@dataclass(frozen=True, kw_only=True)
class Box:
    """A part of a label, in mm from its left and top edges."""

    left: float
    top: float
    width: float
    height: float


def write_labels(
    labels: Sequence[Label],
    *,
    sheet: LabelSheet,
    start: int = 1,
    told: Callable[[int], None] = lambda _: None,
) -> bytes:
    """Return the PDF of labels on a sheet, the first at position `start`.

    `told` is called with how many are drawn after each.

    Raises:
        NotAccepted: the sheet has no such position, or its labels are too small for the address.
    """
    check_start(start, sheet=sheet)
    target = BytesIO()
    canvas = sheet_canvas(target, sheet=sheet)
    drawn = _Codes(canvas=canvas, known={})
    for place, label in enumerate(labels):
        position = (start - 1 + place) % sheet.labels + 1
        if place and position == 1:
            canvas.showPage()
        _draw(canvas, label, sheet=sheet, position=position, codes=drawn)
        told(place + 1)
    canvas.showPage()
    canvas.save()
    return target.getvalue()


def check_start(start: int, *, sheet: LabelSheet) -> None:
    """Refuse a position that the sheet has not.

    Raises:
        NotAccepted: at "start".
    """
    if not 1 <= start <= sheet.labels:
        place = "1" if sheet.labels == 1 else f"a position from 1 to {sheet.labels}"
        raise NotAccepted.at("start", f"This sheet starts at {place}.")


def qr_box(sheet: LabelSheet, *, modules: int, address: str) -> Box:
    """Return where the QR code stands on a label, the white around it included.

    `modules` is its side with that white. It stands right of the writing, or below it on a label
    that is higher than wide.

    Raises:
        NotAccepted: at "sheet", the label is too small for a code that can be read.
    """
    width, height = sheet.label_mm
    inner = _inner(sheet)
    along, across = (inner.width, inner.height) if width >= height else (inner.height, inner.width)
    share = max(_QR_SHARE * along, SMALLEST_MODULE_MM * modules)
    side = min(across, LARGEST_MODULE_MM * modules, share)
    if side / modules < SMALLEST_MODULE_MM or along - side < _LEAST_TEXT_MM:
        said = _TOO_LONG.format(address=address, width=width, height=height)
        raise NotAccepted.at("sheet", said)
    if width >= height:
        return Box(
            left=inner.left + inner.width - side,
            top=(height - side) / 2,
            width=side,
            height=side,
        )
    return Box(
        left=(width - side) / 2, top=inner.top + inner.height - side, width=side, height=side
    )


def qr_code(address: str) -> segno.QRCode:
    """Return the QR code of an address: level M, or better where the size stays the same."""
    return segno.make_qr(address, error="m", boost_error=True)


def sheet_canvas(target: BytesIO, *, sheet: LabelSheet) -> Canvas:
    """Return an empty file with pages of the sheet's size, to be printed at 100 %."""
    size = (sheet.page_mm[0] * mm, sheet.page_mm[1] * mm)
    canvas = Canvas(target, pagesize=size, invariant=1, pageCompression=1)
    canvas.setTitle("Labels")
    canvas.setCreator("Strikewell")
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas


@dataclass(frozen=True, kw_only=True)
class _Code:
    """A QR code drawn once in the file: its name there, and its side in modules with the white."""

    name: str
    modules: int


@dataclass(frozen=True, kw_only=True)
class _Codes:
    """The QR codes of a file; labels with the same address share one drawing."""

    canvas: Canvas
    known: dict[str, _Code]

    def of(self, address: str) -> _Code:
        """Return the code of an address, drawn where it is new."""
        if address not in self.known:
            matrix = qr_code(address).matrix
            name = f"code{len(self.known)}"
            _draw_modules(self.canvas, matrix, name=name)
            self.known[address] = _Code(name=name, modules=len(matrix) + 2 * QUIET_MODULES)
        return self.known[address]


def _draw_modules(canvas: Canvas, matrix: Sequence[bytearray], *, name: str) -> None:
    """Draw a QR code as one shape, a unit to the module, runs of dark modules in one piece."""
    side = len(matrix)
    canvas.beginForm(name, 0, 0, side, side)
    path = canvas.beginPath()
    for row, modules in enumerate(matrix):
        begun = None
        for column, dark in enumerate([*modules, 0]):
            if dark and begun is None:
                begun = column
            elif not dark and begun is not None:
                path.rect(begun, side - 1 - row, column - begun, 1)
                begun = None
    canvas.drawPath(path, stroke=0, fill=1)
    canvas.endForm()


def _draw(canvas: Canvas, label: Label, *, sheet: LabelSheet, position: int, codes: _Codes) -> None:
    code = codes.of(label.address)
    box = qr_box(sheet, modules=code.modules, address=label.address)
    left, top = sheet.place_mm(position)
    corner = (left * mm, (sheet.page_mm[1] - top) * mm)
    module = box.width / code.modules * mm
    canvas.saveState()
    canvas.translate(
        corner[0] + box.left * mm + QUIET_MODULES * module,
        corner[1] - (box.top + box.height) * mm + QUIET_MODULES * module,
    )
    canvas.scale(module, module)
    canvas.doForm(code.name)
    canvas.restoreState()
    _write(canvas, label, box=_text_box(sheet, code=box), corner=corner)


def _inner(sheet: LabelSheet) -> Box:
    pad_x, pad_y = sheet.pads_mm
    width, height = sheet.label_mm
    return Box(left=pad_x, top=pad_y, width=width - 2 * pad_x, height=height - 2 * pad_y)


def _text_box(sheet: LabelSheet, *, code: Box) -> Box:
    inner = _inner(sheet)
    if sheet.label_mm[0] >= sheet.label_mm[1]:
        width = code.left - inner.left - _GAP_MM
        return Box(left=inner.left, top=inner.top, width=width, height=inner.height)
    height = code.top - inner.top - _GAP_MM
    return Box(left=inner.left, top=inner.top, width=inner.width, height=height)


def _write(canvas: Canvas, label: Label, *, box: Box, corner: tuple[float, float]) -> None:
    """Write name, code and line below each other, in the middle of their box's height."""
    blocks = fitted_blocks(label, width_pt=box.width * mm, height_pt=box.height * mm)
    used = sum(block.height_pt for block in blocks)
    x = corner[0] + box.left * mm
    y = corner[1] - box.top * mm - max(0.0, (box.height * mm - used) / 2)
    for block in blocks:
        for line in block.lines:
            base = y - block.size_pt * ASCENT - block.size_pt * 0.2
            _write_line(canvas, line, x=x, y=base, size=block.size_pt)
            y -= block.height_pt / len(block.lines)


def fitted_blocks(label: Label, *, width_pt: float, height_pt: float) -> tuple[Fitted, ...]:
    """Return the name, the code and the lines below it as they fit a box, from top to bottom.

    Where a long name would be cut, code and lines give way to it first.
    """
    blocks: tuple[Fitted, ...] = ()
    for share, said_pt in _GIVING_WAY:
        blocks = _blocks(
            label, width_pt=width_pt, height_pt=height_pt, code_share=share, said_pt=said_pt
        )
        if not blocks[0].cut:
            break
    return blocks


def _blocks(
    label: Label, *, width_pt: float, height_pt: float, code_share: float, said_pt: float
) -> tuple[Fitted, ...]:
    below = " · ".join(said for said in (label.text.said, label.part) if said)
    code = fit(
        (Run(text=drawable(label.text.code), face=Face.BOLD),),
        width_pt=width_pt,
        height_pt=height_pt * code_share,
        largest_pt=min(_LARGEST_CODE_PT, height_pt * code_share / LEADING),
        measure=width_of,
    )
    said = fit(
        (Run(text=drawable(below)),),
        width_pt=width_pt,
        height_pt=height_pt * _SAID_SHARE,
        largest_pt=said_pt,
        measure=width_of,
    )
    name = fit(
        [
            Run(text=_kept_together(piece.text), face=Face.ITALIC if piece.italic else Face.UPRIGHT)
            for piece in label.text.name
        ],
        width_pt=width_pt,
        height_pt=height_pt - code.height_pt - said.height_pt,
        largest_pt=_LARGEST_NAME_PT,
        measure=width_of,
    )
    return tuple(block for block in (name, code, said) if block.lines)


def _kept_together(text: str) -> str:
    """Return a piece of a name whose hybrid sign stays with the word it stands before."""
    return drawable(text).replace(f"{SIGN} ", f"{SIGN}\N{NO-BREAK SPACE}")


def _write_line(canvas: Canvas, line: Sequence[Run], *, x: float, y: float, size: float) -> None:
    for run in line:
        canvas.setFont(font_name(run.face), size)
        canvas.drawString(x, y, run.text)
        x += width_of(run.text, face=run.face) * size
