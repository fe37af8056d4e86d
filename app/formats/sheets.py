"""One door for sheets of either kind: which reader or writer a file name asks for."""

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Final

from app.domain.problems import NotAccepted
from app.domain.sheet_lines import SheetLine
from app.formats.cells import Cell
from app.formats.csv_sheets import csv_chunks, read_csv
from app.formats.xlsx_sheets import read_xlsx, write_xlsx

PAGE_ROWS: Final = 5_000
COMMAND_ROWS: Final = 100_000


def read_sheet(data: bytes, *, filename: str, row_limit: int) -> Iterator[SheetLine]:
    """Return the lines of the sheet, read by the ending of its name (.csv, .txt, .tsv or .xlsx).

    Raises:
        NotAccepted: the ending is another, or the content is not what the ending says.
    """
    ending = Path(filename).suffix.lower()
    if ending == ".xlsx":
        return read_xlsx(data, row_limit=row_limit)
    if ending in {".csv", ".txt", ".tsv"}:
        return read_csv(data, row_limit=row_limit)
    raise NotAccepted.at("sheet", "Choose a sheet that ends in .csv or .xlsx.")


def write_sheet(rows: Iterable[Sequence[Cell]], *, path: Path, title: str) -> None:
    """Write the rows to the path as its ending says, .csv or .xlsx.

    Raises:
        NotAccepted: the ending is another, or there is more than a workbook can hold.
    """
    ending = path.suffix.lower()
    if ending == ".xlsx":
        write_xlsx(rows, target=path, title=title)
    elif ending == ".csv":
        with path.open("wb") as file:
            file.writelines(csv_chunks(rows))
    else:
        raise NotAccepted.at("file", "Give the file a name that ends in .csv or .xlsx.")
