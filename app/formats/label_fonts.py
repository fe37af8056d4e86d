"""The typeface of labels, embedded in their PDF: the one of the pages, as TrueType.

The files in `fonts` are the Latin and the extended Latin part of Atkinson Hyperlegible Next put
together, under the SIL Open Font License beside them.
"""

import unicodedata
from functools import cache
from pathlib import Path
from typing import Final

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from app.formats.label_fitting import Face

FONTS: Final = Path(__file__).parent / "fonts"
ASCENT: Final = 0.75
"""From the base line up to the top of tall letters, in sizes of the writing."""
_FILES: Final = {Face.UPRIGHT: "regular", Face.ITALIC: "italic", Face.BOLD: "bold"}
_UNKNOWN: Final = "?"


@cache
def font_name(face: Face) -> str:
    """Return the name a face goes by in a PDF, its font registered."""
    name = f"AtkinsonNext-{face.value.capitalize()}"
    pdfmetrics.registerFont(TTFont(name, str(FONTS / f"atkinson-next-{_FILES[face]}.ttf")))
    return name


@cache
def width_of(text: str, *, face: Face) -> float:
    """Return the width of letters in a face at a size of 1 point, in points."""
    return float(pdfmetrics.stringWidth(text, font_name(face), 1))


def drawable(text: str) -> str:
    """Return the text in letters the typeface has; another loses its mark, or becomes "?"."""
    return "".join(_letter(letter) for letter in unicodedata.normalize("NFC", text))


@cache
def _letter(letter: str) -> str:
    known = pdfmetrics.getFont(font_name(Face.UPRIGHT)).face.charToGlyph
    if ord(letter) in known:
        return letter
    if letter.isspace():
        return " "
    base = unicodedata.normalize("NFKD", letter)[:1]
    return base if base and ord(base) in known else _UNKNOWN
