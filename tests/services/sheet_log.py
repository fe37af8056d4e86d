"""Taking sheets out of a small log and reading them in again."""

from collections.abc import Sequence

from sqlalchemy import select

from app.formats.csv_sheets import csv_chunks, read_csv
from app.services.exports import ExportKind, export_rows
from app.services.notebook_stages import SheetComparison
from app.services.sheet_imports import SheetImport, Writer, open_import
from app.services.verifying import verify_log
from app.store.models.history import HistoryLine
from app.store.session import Database
from tests.conftest import TODAY


def taken_out(log: Database, kind: str) -> list[dict[str, str]]:
    """Return the lines of a sheet by column, as they are meant."""
    data = b"".join(csv_chunks(export_rows(log.reading, kind=ExportKind(kind))))
    header, *rows = [line.cells for line in read_csv(data, row_limit=10_000)]
    return [dict(zip(header, row, strict=True)) for row in rows]


def opened(kind: str, lines: Sequence[dict[str, str]]) -> SheetImport:
    header = list(lines[0])
    rows = [header, *([line.get(name, "") for name in header] for line in lines)]
    data = b"".join(csv_chunks(rows))
    return open_import(kind, lines=read_csv(data, row_limit=10_000), reference="", today=TODAY)


def compared(log: Database, reading: SheetImport, writer: Writer) -> SheetComparison:
    return reading.compare(log, writer=writer, progress=lambda _: None)


def counts(comparison: SheetComparison) -> dict[str, int]:
    return {state.value: number for state, number in comparison.counts.items() if number}


def history(log: Database) -> list[HistoryLine]:
    with log.reading() as session:
        return list(session.scalars(select(HistoryLine).order_by(HistoryLine.sequence)))


def assert_sound(log: Database) -> None:
    with log.reading() as session:
        assert list(verify_log(session)) == []


def blank_line(lines: Sequence[dict[str, str]], said: dict[str, str]) -> dict[str, str]:
    return dict.fromkeys(lines[0], "") | said
