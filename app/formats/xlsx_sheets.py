"""XLSX: bytes to numbered lines behind checks, and rows to a workbook without formulas."""

import io
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import IO, Any, Final

import xlsxwriter
from python_calamine import CalamineError, CalamineWorkbook

from app.domain.problems import NotAccepted
from app.domain.sheet_lines import SheetLine
from app.formats.cells import Cell, typed_text
from app.formats.csv_sheets import too_many_lines
from app.formats.formula_guard import guard, unguard
from app.formats.xml_checks import measure_part
from app.formats.zip_checks import unpack_xml

FIELD: Final = "sheet"
FILE_LIMIT: Final = 2 * 1024 * 1024
_PARTS: Final = ("[Content_Types].xml", "_rels/", "xl/")
_WORKBOOK: Final = "xl/workbook.xml"
_SHARED_TEXTS: Final = "xl/sharedstrings.xml"
_SPARE_ROWS: Final = 1_000
_FIRST_YEAR: Final = 1901


def read_xlsx(data: bytes, *, row_limit: int) -> Iterator[SheetLine]:
    """Yield the lines of the first sheet that hold anything, the header first.

    Days and whole numbers come back as they would be typed. Lines before the header that begin
    with # are comments.

    Raises:
        NotAccepted: it is too large, not an .xlsx sheet, damaged, built to do harm, empty, or has
            more than `row_limit` lines below its header.
    """
    if len(data) > FILE_LIMIT:
        raise NotAccepted.at(FIELD, "This .xlsx file is larger than 2 MB. Save the sheet as CSV.")
    taken = 0
    for number, row in enumerate(_rows(_checked(data, row_limit=row_limit)), start=1):
        cells = tuple(unguard(typed_text(value)) for value in row)
        if not any(cells) or (taken == 0 and cells[0].startswith("#")):
            continue
        taken += 1
        if taken > row_limit + 1:
            raise NotAccepted.at(FIELD, too_many_lines(row_limit))
        yield SheetLine(number=number, cells=cells)
    if taken == 0:
        raise NotAccepted.at(FIELD, "The first sheet of this file is empty. Put the lines there.")


def write_xlsx(
    rows: Iterable[Sequence[Cell]], *, target: Path | IO[bytes], title: str = "Sheet"
) -> None:
    """Write the rows as the only sheet of a workbook, the first row being its header.

    Texts are guarded and stay texts, days are real days, and the memory it takes does not grow
    with the rows.

    Raises:
        NotAccepted: a text or the number of rows is more than a workbook can hold.
    """
    options = {"constant_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(target, options) as workbook:
        formats = {
            date: workbook.add_format({"num_format": "yyyy-mm-dd"}),
            datetime: workbook.add_format({"num_format": "yyyy-mm-dd hh:mm:ss"}),
        }
        sheet = workbook.add_worksheet(title)
        sheet.freeze_panes(1, 0)
        for line, row in enumerate(rows):
            for column, cell in enumerate(row):
                if _write_cell(sheet, (line, column), cell, formats) < 0:
                    raise NotAccepted.at(FIELD, _too_much())


def _write_cell(
    sheet: Any, place: tuple[int, int], cell: Cell, formats: dict[type[date], Any]
) -> int:
    if cell is None or cell == "":
        return 0
    if isinstance(cell, bool):
        written: int = sheet.write_string(*place, typed_text(cell))
    elif isinstance(cell, int | float):
        written = sheet.write_number(*place, cell)
    elif isinstance(cell, date) and cell.year >= _FIRST_YEAR and _has_no_zone(cell):
        written = sheet.write_datetime(*place, cell, formats[type(cell)])
    else:
        written = sheet.write_string(*place, guard(typed_text(cell)))
    return written


def _has_no_zone(day: date) -> bool:
    return not isinstance(day, datetime) or day.tzinfo is None


def _too_much() -> str:
    return "A text or the number of lines is more than an .xlsx file can hold. Export it as .csv."


def _checked(data: bytes, *, row_limit: int) -> bytes:
    """Return the file packed anew from nothing but the XML parts that were found harmless."""
    parts = unpack_xml(data, wanted=_PARTS)
    if _WORKBOOK not in parts:
        raise NotAccepted.at(FIELD, "This file is not an .xlsx sheet. Save it as .xlsx or as CSV.")
    rows = row_limit + _SPARE_ROWS
    shared: tuple[int, ...] = ()
    for name, content in parts.items():
        if name.lower() == _SHARED_TEXTS:
            shared = measure_part(content, row_limit=rows)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_STORED) as archive:
        for name, content in parts.items():
            if name.lower() != _SHARED_TEXTS:
                measure_part(content, shared=shared, row_limit=rows)
            archive.writestr(name, content)
    return packed.getvalue()


def _rows(data: bytes) -> list[list[Any]]:
    try:
        with CalamineWorkbook.from_filelike(io.BytesIO(data)) as workbook:
            return list(workbook.get_sheet_by_index(0).to_python(skip_empty_area=False))
    except (CalamineError, IndexError, ValueError) as error:
        sentence = "This .xlsx file cannot be read. Save the sheet again, or as CSV."
        raise NotAccepted.at(FIELD, sentence) from error
