from pathlib import Path

import pytest

from app.domain.problems import NotAccepted
from app.formats.sheets import read_sheet, write_sheet


@pytest.mark.parametrize("ending", [".csv", ".CSV", ".xlsx"])
def test_the_ending_chooses_the_kind(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"notebook{ending}"
    write_sheet([["batch"], ["A"]], path=path, title="Notebook")
    lines = read_sheet(path.read_bytes(), filename=path.name, row_limit=10)
    assert [line.cells for line in lines] == [("batch",), ("A",)]


def test_other_endings_are_refused(tmp_path: Path) -> None:
    with pytest.raises(NotAccepted, match=r"\.csv or \.xlsx"):
        read_sheet(b"batch", filename="notebook.ods", row_limit=10)
    with pytest.raises(NotAccepted, match=r"\.csv or \.xlsx"):
        write_sheet([["batch"]], path=tmp_path / "notebook.pdf", title="Notebook")


def test_a_sheet_under_the_wrong_ending_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "notebook.xlsx"
    write_sheet([["batch"]], path=path, title="Notebook")
    with pytest.raises(NotAccepted, match="not a CSV sheet"):
        list(read_sheet(path.read_bytes(), filename="notebook.csv", row_limit=10))
