"""The test print, measured in its picture: frames within 0.2 mm of the sheet's measures."""

import numpy as np
import pytest

from app.domain.label_sheets import SHEETS, LabelSheet, single_label
from app.formats.label_rulers import write_test_print
from tests.formats.label_pages import MM_PER_INCH, pictures

DPI = 400.0


def _is_dark(picture: "np.ndarray", *, x_mm: float, y_mm: float) -> bool:
    """Return whether there is ink within 0.2 mm of a point."""
    reach = 0.2 * DPI / MM_PER_INCH
    x, y = x_mm * DPI / MM_PER_INCH, y_mm * DPI / MM_PER_INCH
    rows = slice(max(0, round(y - reach)), round(y + reach) + 1)
    columns = slice(max(0, round(x - reach)), round(x + reach) + 1)
    return bool((picture[rows, columns] < 160).any())


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_each_place_has_its_frame(sheet: LabelSheet) -> None:
    (page,) = pictures(write_test_print(sheet), dpi=DPI)
    picture = np.asarray(page)
    width, height = sheet.label_mm
    for position in range(1, sheet.labels + 1):
        left, top = sheet.place_mm(position)
        # A third along each edge, where neither corner nor ruler is.
        assert _is_dark(picture, x_mm=left + width / 3, y_mm=top)
        assert _is_dark(picture, x_mm=left + width / 3, y_mm=top + height)
        assert _is_dark(picture, x_mm=left, y_mm=top + height / 3)
        assert _is_dark(picture, x_mm=left + width, y_mm=top + height / 3)


@pytest.mark.parametrize(
    ("sheet", "across"),
    [(SHEETS[0], 100), (single_label((62, 29)), 40), (single_label((32, 18)), 20)],
)
def test_the_ruler_is_as_long_as_it_says(sheet: LabelSheet, across: int) -> None:
    (page,) = pictures(write_test_print(sheet), dpi=DPI)
    picture = np.asarray(page)
    rim = min(12.0, *(side / 4 for side in sheet.page_mm))
    y = sheet.page_mm[1] - rim
    assert all(_is_dark(picture, x_mm=rim + at, y_mm=y) for at in range(across + 1))
    # Past the end of the line stands nothing, unless a frame happens to.
    beyond = rim + across + 1
    frames = {sheet.place_mm(n)[0] for n in range(1, sheet.labels + 1)}
    assert min(abs(beyond - left) for left in frames) > 0.5
    assert not _is_dark(picture, x_mm=beyond, y_mm=y)
    assert all(_is_dark(picture, x_mm=rim + at, y_mm=y - 3.5) for at in range(0, across + 1, 10)), (
        "every tenth line is a long one"
    )
