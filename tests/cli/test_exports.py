"""Sheets written by command."""

import csv
from pathlib import Path
from shutil import copyfile

import pytest

from app.formats.xlsx_sheets import read_xlsx
from tests.cli.running import run_command

BARTLETT = Path(__file__).parents[1] / "data" / "bartlett_notebook.csv"
SHEET = """batch,plant,stuck_on,stuck,stock_plant,hormone,bench,person,\
checked_on,kind,rooted,lost,lost_cause,ending,note
A1,Hebe 'Great Orme',2026-05-01,100,S-0003 + S-0004,IBA talc 1000 ppm,Bench 3,Nell Oake,,,,,,,'=2+3
A1,,,,,,,,2026-05-20,looked only,,,,,all well
A1,,,,,,,,2026-06-01,,30,4,basal rot,,
A1,,,,,,,,2026-06-01,,,1,grey mould,,
A1,,,,,,,,2026-06-01,,2,,,,
A2,Prunus domestica,2026-05-02,60,,none,,,2026-06-01,,20,,,dumped,
"""


@pytest.fixture
def data(migrated_file: Path, tmp_path: Path) -> Path:
    folder = tmp_path / "data"
    folder.mkdir()
    copyfile(migrated_file, folder / "strikewell.db")
    sheet = tmp_path / "sheet.csv"
    sheet.write_text(SHEET, encoding="utf-8")
    assert run_command("import", sheet, data=folder).code == 0
    return folder


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_the_notebook_reads_in_again_as_the_same(data: Path, tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"out.{ending}"
    answer = run_command("export", "notebook", path, data=data)
    assert (answer.code, answer.out) == (0, f"{path}: 7 lines.\n")
    answer = run_command("import", path, data=data)
    assert answer.code == 0
    assert "7 lines: 0 new, 0 changed, 7 the same, 0 wrong." in answer.out


def test_the_notebook_fills_an_empty_log(data: Path, tmp_path: Path, migrated_file: Path) -> None:
    path = tmp_path / "out.csv"
    run_command("export", "notebook", path, data=data)
    other = tmp_path / "other"
    other.mkdir()
    copyfile(migrated_file, other / "strikewell.db")
    assert run_command("import", path, data=other).code == 0
    again = tmp_path / "again.csv"
    run_command("export", "notebook", again, data=other)
    assert again.read_bytes() == path.read_bytes()


def test_batches_with_everything_recorded(data: Path, tmp_path: Path) -> None:
    path = tmp_path / "batches.csv"
    assert run_command("export", "batches", path, data=data).code == 0
    first, second = rows_of(path)
    assert first["plant"] == "Hebe 'Great Orme'"
    assert (first["own_reference"], first["reference_source"]) == ("A1", "sheet")
    assert (first["stuck_by"], first["bench"]) == ("Nell Oake", "Bench 3")
    assert (first["hormone"], first["hormone_form"], first["hormone_ppm"]) == (
        "IBA",
        "talc",
        "1000",
    )
    assert (first["rooted"], first["lost"], first["unrooted"]) == ("32", "5", "63")
    assert first["sources"] == "S-0003; S-0004"
    assert (second["hormone"], second["dumped"], second["void"]) == ("none", "40", "no")


def test_texts_that_would_run_in_a_spreadsheet_are_guarded(data: Path, tmp_path: Path) -> None:
    path = tmp_path / "batches.csv"
    run_command("export", "batches", path, data=data)
    assert rows_of(path)[0]["note"] == "'=2+3"


def test_checks_with_their_counts(data: Path, tmp_path: Path) -> None:
    path = tmp_path / "checks.csv"
    assert run_command("export", "checks", path, data=data).code == 0
    rows = rows_of(path)
    assert [row["kind"] for row in rows] == ["looked only", "counted", "counted", "counted"]
    assert rows[1]["lost_by_cause"] == "4 basal rot; 1 grey mould"
    assert [row["number_of_day"] for row in rows[1:3]] == ["1", "2"]
    assert (rows[3]["ending"], rows[3]["ended"]) == ("dumped", "40")


def test_stock_plants_and_mixes(data: Path, tmp_path: Path) -> None:
    path = tmp_path / "plants.xlsx"
    assert run_command("export", "stock-plants", path, data=data).code == 0
    lines = list(read_xlsx(path.read_bytes(), row_limit=10))
    assert [line.cells[:2] for line in lines[1:]] == [
        ("S-0003", "Hebe 'Great Orme'"),
        ("S-0004", "Hebe 'Great Orme'"),
    ]
    mixes = tmp_path / "mixes.csv"
    assert run_command("export", "mixes", mixes, data=data).code == 0
    assert mixes.read_bytes().startswith(b"\xef\xbb\xbfmix,version,")


def test_a_mix_without_a_recipe_still_has_its_line(data: Path, tmp_path: Path) -> None:
    assert run_command("import", BARTLETT, data=data).code == 0
    path = tmp_path / "mixes.csv"
    run_command("export", "mixes", path, data=data)
    named = [(row["mix"], row["ingredient"]) for row in rows_of(path)]
    assert ("long", "") in named
    assert ("short", "") in named


def test_nothing_is_written_over(data: Path, tmp_path: Path) -> None:
    path = tmp_path / "there.csv"
    path.write_text("mine", encoding="utf-8")
    answer = run_command("export", "batches", path, data=data)
    assert (answer.code, path.read_text(encoding="utf-8")) == (1, "mine")
    assert "is there already" in answer.err


def test_another_ending_is_refused_and_leaves_no_file(data: Path, tmp_path: Path) -> None:
    answer = run_command("export", "batches", tmp_path / "a.pdf", data=data)
    assert (answer.code, answer.err) == (
        1,
        "Give the file a name that ends in .csv or .xlsx.\n",
    )
    assert not list(tmp_path.glob("*.pdf"))
    assert run_command("export", "letters", tmp_path / "a.csv", data=data).code == 2
