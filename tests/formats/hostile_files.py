"""Builds .xlsx files that a stranger might send: real ones with one part replaced."""

import io
import zipfile

from app.formats.xlsx_sheets import write_xlsx

SHEET = "xl/worksheets/sheet1.xml"
TEXTS = "xl/sharedStrings.xml"
NAMESPACE = b'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'


def harmless() -> bytes:
    """Return a small workbook of two lines."""
    target = io.BytesIO()
    write_xlsx([["batch", "plant"], ["A1", "Prunus domestica"]], target=target)
    return target.getvalue()


def with_parts(changed: dict[str, bytes]) -> bytes:
    """Return the harmless workbook with some of its parts replaced or added."""
    target = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(harmless())) as source,
        zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive,
    ):
        parts = {name: source.read(name) for name in source.namelist()}
        for name, content in (parts | changed).items():
            archive.writestr(name, content)
    return target.getvalue()


def sheet_of(rows: bytes, *, before: bytes = b"") -> bytes:
    """Return the XML of a worksheet with these rows."""
    return b"%s<worksheet %s><sheetData>%s</sheetData></worksheet>" % (before, NAMESPACE, rows)


def texts_of(*texts: bytes, attributes: bytes = b"") -> bytes:
    """Return the XML of the shared texts."""
    items = b"".join(b"<si><t>%s</t></si>" % text for text in texts)
    return b"<sst %s %s>%s</sst>" % (NAMESPACE, attributes, items)


def far_cell() -> bytes:
    return with_parts({SHEET: sheet_of(b'<row r="1"><c r="XFD1048576"><v>1</v></c></row>')})


def far_row_without_places() -> bytes:
    return with_parts({SHEET: sheet_of(b"<row/>" * 200_000 + b"<row><c><v>1</v></c></row>")})


def far_column_without_places() -> bytes:
    return with_parts({SHEET: sheet_of(b"<row>" + b"<c><v>1</v></c>" * 500 + b"</row>")})


def bomb() -> bytes:
    return with_parts({SHEET: sheet_of(b" " * 120_000_000)})


def element_bomb() -> bytes:
    return with_parts({SHEET: sheet_of(b"<a/>" * 6_000_000)})


def text_bomb() -> bytes:
    row = b"<row>" + b'<c t="s"><v>0</v></c>' * 60 + b"</row>"
    return with_parts({SHEET: sheet_of(row * 5_000), TEXTS: texts_of(b"x" * 1_000_000)})


def promised_memory() -> bytes:
    texts = texts_of(b"x", attributes=b'count="999999999999" uniqueCount="999999999999"')
    return with_parts({TEXTS: texts})


def entity_bomb() -> bytes:
    declared = b'<!DOCTYPE a [<!ENTITY a "' + b"x" * 1000 + b'"><!ENTITY b "&a;&a;&a;&a;">]>'
    cell = b'<row r="1"><c r="A1" t="str"><v>&b;</v></c></row>'
    return with_parts({SHEET: sheet_of(cell, before=declared)})


def wide_characters() -> bytes:
    content = sheet_of(b'<row r="1"/>', before=b'<?xml version="1.0" encoding="UTF-16"?>')
    return with_parts({SHEET: content.decode().encode("utf-16")})


def many_parts() -> bytes:
    return with_parts({f"xl/media/{number}.png": b"" for number in range(300)})


def truncated() -> bytes:
    whole = harmless()
    return whole[: len(whole) // 2]


def damaged_part() -> bytes:
    whole = bytearray(harmless())
    middle = len(whole) // 3
    whole[middle : middle + 40] = b"\xff" * 40
    return bytes(whole)


def too_large() -> bytes:
    return with_parts({"xl/media/picture.png": bytes(range(256)) * 2 + _noise(3_000_000)})


def _noise(length: int) -> bytes:
    numbers = range(length // 4 + 1)
    return b"".join((number * 2_654_435_761 % 2**32).to_bytes(4) for number in numbers)


def another_zip() -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        archive.writestr("content.xml", "<a/>")
    return target.getvalue()


def parts_of(data: bytes) -> dict[str, bytes]:
    """Return the parts of a workbook by name."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}
