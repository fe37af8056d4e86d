"""The command `export`: writes a sheet of what is in the log, as .csv or .xlsx by its ending."""

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from app.cli.context import CommandRefused, Context
from app.cli.progress import Progress
from app.formats.sheets import write_sheet
from app.services.exports import ExportKind, Row, export_rows


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add `export KIND FILE`."""
    parser = commands.add_parser("export", help="write a sheet of what is in the log")
    parser.add_argument(
        "kind", metavar="KIND", choices=[str(kind) for kind in ExportKind],
        help=", ".join(ExportKind),
    )  # fmt: skip
    parser.add_argument("file", type=Path, metavar="FILE", help="a new .csv or .xlsx file")


def run(args: argparse.Namespace, context: Context) -> int:
    """Write the sheet and say how many lines it has.

    Raises:
        CommandRefused: the file is there already.
        NotAccepted: its name ends neither in .csv nor in .xlsx, or a workbook cannot hold it.
    """
    target: Path = args.file
    if target.exists():
        raise CommandRefused(f"{target} is there already. Give another name, or move it away.")
    database = context.open_database()
    counted = _Counted(Progress(context.remark))
    # Written beside the place and moved there once whole, so that no half sheet is left behind.
    unfinished = target.with_name(f".{target.stem}-unfinished{target.suffix}")
    try:
        rows = counted.rows(export_rows(database.reading, kind=ExportKind(args.kind)))
        write_sheet(rows, path=unfinished, title=str(args.kind))
        unfinished.replace(target)
    finally:
        unfinished.unlink(missing_ok=True)
        database.close()
    lines = "1 line" if counted.number == 1 else f"{counted.number:,} lines"
    context.say(f"{target}: {lines}.")
    return 0


class _Counted:
    """Counts the rows that pass, without the header."""

    def __init__(self, progress: Progress) -> None:
        self.number = -1
        self._progress = progress

    def rows(self, rows: Iterator[Row]) -> Iterator[Any]:
        """Yield the rows as they come and say how far it has come."""
        for row in rows:
            self.number += 1
            self._progress(f"Wrote {self.number:,} lines.")
            yield row
