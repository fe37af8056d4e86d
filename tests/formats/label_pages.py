"""Reading a PDF of labels back: its pages as pictures, and the QR codes in them."""

from dataclasses import dataclass

import numpy as np
import pypdfium2
import zxingcpp
from PIL.Image import Image

MM_PER_INCH = 25.4


@dataclass(frozen=True, kw_only=True)
class Scanned:
    """A QR code as a reader sees it: its text, and the middle of it in mm from left and top."""

    text: str
    middle_mm: tuple[float, float]


def pictures(pdf: bytes, *, dpi: float) -> list[Image]:
    """Return each page as a grey picture."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [page.render(scale=dpi / 72).to_pil().convert("L") for page in document]
    finally:
        document.close()


def scanned(picture: Image, *, dpi: float) -> list[Scanned]:
    """Return every QR code that zxing-cpp reads in a picture."""
    found = []
    for code in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode):
        corners = (
            code.position.top_left,
            code.position.top_right,
            code.position.bottom_left,
            code.position.bottom_right,
        )
        x, y = (sum(getattr(each, name) for each in corners) / 4 for name in ("x", "y"))
        scale = MM_PER_INCH / dpi
        found.append(Scanned(text=code.text, middle_mm=(x * scale, y * scale)))
    return found


def dark_box_mm(picture: Image, *, dpi: float) -> tuple[float, float, float, float]:
    """Return left, top, right and bottom of all that is dark in a picture, in mm."""
    dark = np.asarray(picture) < 128
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    edges = (columns[0], rows[0], columns[-1] + 1, rows[-1] + 1)
    left, top, right, bottom = (float(edge) * MM_PER_INCH / dpi for edge in edges)
    return left, top, right, bottom
