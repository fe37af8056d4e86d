"""Sheets read in by command."""

from pathlib import Path
from shutil import copyfile
from typing import Any

import pytest

from app.cli import imports
from app.cli.progress import Progress
from app.domain.problems import NotAccepted
from app.services import sheet_imports
from app.services.notebook_imports import NotebookComparison, Reading, compare_notebook
from app.services.people import PersonEntry, add_person
from app.store.session import Database
from tests.cli.running import Answer, run_command
from tests.conftest import NOW

BARTLETT = Path(__file__).parents[1] / "data" / "bartlett_notebook.csv"
WRONG = """batch,plant,stuck_on,stuck,checked_on,rooted
C1,Prunus domestica,2026-05-01,100,2026-06-01,30
C2,Prunus domestica,2026-05-32,100,2026-06-01,30
C3,Prunus domestica,2026-05-01,100,2026-06-01,130
"""


@pytest.fixture
def data(migrated_file: Path, tmp_path: Path) -> Path:
    folder = tmp_path / "data"
    folder.mkdir()
    copyfile(migrated_file, folder / "strikewell.db")
    return folder


@pytest.fixture
def wrong(tmp_path: Path) -> Path:
    path = tmp_path / "wrong.csv"
    path.write_text(WRONG, encoding="utf-8")
    return path


def verified(data: Path) -> Answer:
    return run_command("verify", data=data)


def test_bartlett_by_command(data: Path) -> None:
    answer = run_command("import", BARTLETT, data=data)
    assert answer.code == 0
    assert "New mixes: long; short." in answer.out
    assert "4 lines: 4 new, 0 changed, 0 the same, 0 wrong." in answer.out
    assert "4 batches made, 4 checks recorded" in answer.out
    assert "Others waited at most" in answer.out
    assert verified(data).code == 0


def test_bartlett_gives_its_published_rates(data: Path) -> None:
    # Bartlett 1935, J. R. Statist. Soc. Suppl. 2:248-252 (CONFIRMED: equal to vcdExtra::Bartlett):
    # 65.00, 44.58, 35.00 and 12.92 %, 240 of each.
    run_command("import", BARTLETT, data=data)
    answer = run_command("rates", "--by", "mix", "--by", "month", "--format", "csv", data=data)
    assert answer.code == 0
    header, *rows = (line.split(",") for line in answer.out.splitlines())
    stuck, share = header.index("stuck"), header.index("strike_share")
    found = {(row[0], row[1]): (row[stuck], round(float(row[share]), 4)) for row in rows}
    assert found == {
        ("long", "11"): ("240", 0.6500),
        ("short", "11"): ("240", 0.4458),
        ("long", "3"): ("240", 0.3500),
        ("short", "3"): ("240", 0.1292),
    }


def test_reading_it_again_changes_nothing(data: Path) -> None:
    run_command("import", BARTLETT, data=data)
    answer = run_command("import", BARTLETT, data=data)
    assert answer.code == 0
    assert "4 the same" in answer.out
    assert answer.out.endswith("Nothing to write: the log says the same.\n")


def test_checking_only_writes_nothing(data: Path) -> None:
    answer = run_command("import", BARTLETT, "--check-only", data=data)
    assert (answer.code, "4 new" in answer.out) == (0, True)
    assert "4 new" in run_command("import", BARTLETT, "--check-only", data=data).out


def test_wrong_lines_are_named_and_nothing_is_written(data: Path, wrong: Path) -> None:
    answer = run_command("import", wrong, data=data)
    assert answer.code == 1
    assert "Line 3, stuck_on: “2026-05-32” is no day" in answer.out
    assert "Line 4, rooted: " in answer.out
    assert answer.err == (
        "Nothing was written: 2 lines are wrong. Mend them, or leave them out with --skip-wrong.\n"
    )
    assert "1 new" in run_command("import", wrong, "--check-only", "--skip-wrong", data=data).out


def test_wrong_lines_are_left_out_when_asked(data: Path, wrong: Path) -> None:
    answer = run_command("import", wrong, "--skip-wrong", "--kind", "notebook", data=data)
    assert answer.code == 0
    assert "1 batch made, 1 check recorded" in answer.out
    assert "2 wrong lines left out" in answer.out
    assert verified(data).code == 0


def test_who_reads_it_in_can_be_named(data: Path) -> None:
    assert run_command("import", BARTLETT, "--as", "ines farrow", data=data).code == 0
    trainee = run_command("import", BARTLETT, "--as", "Tomas Quill", data=data)
    assert (trainee.code, trainee.err) == (
        1,
        "Tomas Quill does not read sheets in. Name a head propagator.\n",
    )
    nobody = run_command("import", BARTLETT, "--as", "Nobody", data=data)
    assert nobody.err == 'Nobody called "Nobody" signs in here.\n'


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("a.ods", b"x", "Choose a sheet that ends in .csv or .xlsx."),
        ("a.xlsx", b"x", "This file is not an .xlsx sheet"),
        ("a.csv", b"", "This file is empty."),
        ("a.csv", b"name,number\nx,1\n", "The column batch is missing."),
    ],
)
def test_files_that_cannot_be_read_are_refused_in_a_sentence(
    data: Path, tmp_path: Path, name: str, content: bytes, sentence: str
) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    answer = run_command("import", path, data=data)
    assert answer.code == 1
    assert answer.err.startswith(sentence)


def test_a_file_that_is_not_there(data: Path, tmp_path: Path) -> None:
    answer = run_command("import", tmp_path / "none.csv", data=data)
    assert (answer.code, answer.err) == (
        1,
        f"{tmp_path / 'none.csv'}: No such file or directory.\n",
    )


def test_a_file_far_too_large(data: Path, wrong: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(imports, "FILE_BYTES", 10)
    answer = run_command("import", wrong, data=data)
    assert (answer.code, "is larger than" in answer.err) == (1, True)


def test_wrong_usage_is_told_apart(data: Path) -> None:
    assert run_command("import", data=data).code == 2
    assert run_command("import", BARTLETT, "--kind", "letters", data=data).code == 2


def test_a_long_sheet_says_how_far_it_has_come(
    data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.cli.progress.EVERY_S", 0.0)
    path = tmp_path / "long.csv"
    rows = (f"L{number},Prunus domestica,2026-05-01,{number + 1}" for number in range(1200))
    path.write_text("\n".join(["batch,plant,stuck_on,stuck", *rows]), encoding="utf-8")
    answer = run_command("import", path, data=data)
    assert answer.code == 0
    for words in (
        "Read 1,000 of 1,200 lines.",
        "Compared 1,000 of 1,200 batches with the log.",
        "Writing 1,200 batches in one go.",
    ):
        assert words in answer.err
    assert verified(data).code == 0


def test_progress_waits_between_two_sentences(data: Path) -> None:
    class Remarks:
        def __init__(self) -> None:
            self.said: list[str] = []

        def remark(self, line: str) -> None:
            self.said.append(line)

    remarks = Remarks()
    progress = Progress(remarks.remark, every_s=3600)
    progress("Read 1 line.")
    assert remarks.said == []
    eager = Progress(remarks.remark, every_s=0)
    eager("Read 2 lines.")
    assert remarks.said == ["Read 2 lines."]


def test_a_crash_while_writing_leaves_nothing(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_args: object, **_kwargs: object) -> None:
        raise NotAccepted.at("", "The stick is full.")

    with monkeypatch.context() as patched:
        patched.setattr("app.services.notebook_writing.record_changes", refuse)
        answer = run_command("import", BARTLETT, data=data)
    assert (answer.code, answer.err) == (1, "The stick is full.\n")
    assert "4 new" in run_command("import", BARTLETT, "--check-only", data=data).out
    assert verified(data).code == 0


@pytest.mark.parametrize("quicker", [1, 5])
def test_others_who_are_quicker_are_not_written_over(
    data: Path, monkeypatch: pytest.MonkeyPatch, quicker: int
) -> None:
    left = [quicker]

    def compare_slowly(reading: Reading, **words: Any) -> NotebookComparison:
        comparison = compare_notebook(reading, **words)
        # The last comparison is made while nobody else can write.
        if left[0] and getattr(reading, "__name__", "") == "reading":
            left[0] -= 1
            add_a_person(data, f"Person {left[0]}")
        return comparison

    monkeypatch.setattr(sheet_imports, "compare_notebook", compare_slowly)
    answer = run_command("import", BARTLETT, data=data)
    assert answer.code == 0
    assert "The log was changed meanwhile; comparing once more." in answer.err
    assert "4 batches made" in answer.out
    assert verified(data).code == 0


def add_a_person(data: Path, name: str) -> None:
    database = Database(data / "strikewell.db")
    with database.writing() as session:
        add_person(session, actor=None, now=NOW, entry=PersonEntry(name=name))
    database.close()


def test_records_go_out_and_come_in_again(data: Path, tmp_path: Path) -> None:
    sheet = tmp_path / "benches.csv"
    sheet.write_text("bench,capacity_trays\nFar bench,8\nNear bench,\n", encoding="utf-8")
    answer = run_command("import", sheet, data=data)
    assert answer.code == 0
    assert "2 lines: 2 new, 0 changed, 0 the same, 0 wrong." in answer.out
    assert "2 records added." in answer.out
    assert "Others waited at most" in answer.out
    out = tmp_path / "out.xlsx"
    assert run_command("export", "benches", out, data=data).code == 0
    again = run_command("import", out, "--kind", "benches", data=data)
    assert "2 lines: 0 new, 0 changed, 2 the same, 0 wrong." in again.out
    assert "Nothing to write" in again.out
    assert verified(data).code == 0


def test_records_that_are_wrong_are_told_and_nothing_is_written(data: Path, tmp_path: Path) -> None:
    sheet = tmp_path / "benches.csv"
    sheet.write_text("bench,capacity_trays\nFar bench,8\nNear bench,x\n", encoding="utf-8")
    answer = run_command("import", sheet, data=data)
    assert answer.code == 1
    assert "Line 3, capacity_trays: “x” is no whole number." in answer.out
    looked = run_command("import", sheet, "--skip-wrong", "--check-only", data=data)
    assert looked.code == 0
    assert "Nothing was written, as asked." in looked.out
    written = run_command("import", sheet, "--skip-wrong", "--as", "Ines Farrow", data=data)
    assert "1 record added, 1 wrong line left out." in written.out
