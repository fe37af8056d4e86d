"""The test print of a sheet of labels: where each label should be, and rulers to measure by."""

from io import BytesIO
from typing import Final

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from app.domain.label_sheets import LabelSheet
from app.formats.label_fitting import Face
from app.formats.label_fonts import font_name, width_of
from app.formats.labels import sheet_canvas

_LONGEST_RULER_MM: Final = 100
_RIM_MM: Final = 12.0
_HAIR_MM: Final = 0.1
_WRITING_PT: Final = 7.0
_SAID: Final = (
    "Hold this against a sheet of labels. The line must measure {ruler} mm: if not, print again",
    'at 100 % or "actual size", never fitted to the page.',
)


def write_test_print(sheet: LabelSheet) -> bytes:
    """Return a PDF of one page: a frame around each label with its position, and two rulers."""
    target = BytesIO()
    canvas = sheet_canvas(target, sheet=sheet)
    canvas.setLineWidth(_HAIR_MM * mm)
    width, height = sheet.label_mm
    for position in range(1, sheet.labels + 1):
        left, top = sheet.place_mm(position)
        x, y = left * mm, (sheet.page_mm[1] - top - height) * mm
        canvas.rect(x, y, width * mm, height * mm, stroke=1, fill=0)
        canvas.setFont(font_name(Face.UPRIGHT), _WRITING_PT)
        canvas.drawString(x + 5 * mm, y + 5 * mm, str(position))
    _draw_rulers(canvas, sheet=sheet)
    canvas.showPage()
    canvas.save()
    return target.getvalue()


def _draw_rulers(canvas: Canvas, *, sheet: LabelSheet) -> None:
    """Draw a ruler along the page and one up the page, as long as there is room, in whole cm."""
    page_w, page_h = sheet.page_mm
    rim = min(_RIM_MM, page_w / 4, page_h / 4)
    across = _length(page_w - 2 * rim)
    canvas.saveState()
    canvas.translate(rim * mm, rim * mm)
    _draw_ruler(canvas, length=across)
    canvas.rotate(90)
    _draw_ruler(canvas, length=_length(page_h - 2 * rim), upward=True)
    canvas.restoreState()
    _say(canvas, sheet=sheet, rim=rim, ruler=across)


def _draw_ruler(canvas: Canvas, *, length: int, upward: bool = False) -> None:
    side = -1 if upward else 1
    canvas.line(0, 0, length * mm, 0)
    canvas.setFont(font_name(Face.UPRIGHT), _WRITING_PT)
    for at in range(length + 1):
        tick = 4.0 if at % 10 == 0 else 3.0 if at % 5 == 0 else 2.0
        canvas.line(at * mm, 0, at * mm, side * tick * mm)
    for at in range(10, length + 1, 10):
        y = side * 4.5 * mm - (_WRITING_PT if upward else 0)
        canvas.drawCentredString(at * mm, y, str(at))


def _say(canvas: Canvas, *, sheet: LabelSheet, rim: float, ruler: int) -> None:
    """Write what to do with it, where the page is wide enough for the sentence."""
    lines = [line.format(ruler=ruler) for line in _SAID]
    room = (sheet.page_mm[0] - 2 * rim) * mm
    if any(width_of(line, face=Face.UPRIGHT) * _WRITING_PT > room for line in lines):
        return
    canvas.setFont(font_name(Face.UPRIGHT), _WRITING_PT)
    for place, line in enumerate((sheet.name, *lines)):
        canvas.drawString((rim + 6) * mm, (rim + 20 - 3.2 * place) * mm, line)


def _length(room_mm: float) -> int:
    return max(10, min(_LONGEST_RULER_MM, int(room_mm // 10) * 10))
