"""`labels`: labels as a file, and the list of sheets."""

from pathlib import Path

import pytest

from app.cli import labels as command
from app.domain.label_sheets import SHEETS
from app.domain.people import Actor
from app.services.labels import set_label_address
from app.store.session import Database
from tests.cli.running import run_command
from tests.conftest import NOW
from tests.formats.label_pages import pictures, scanned
from tests.services.batch_records import add_bench, add_plant, add_stock_plant
from tests.services.check_records import stick


@pytest.fixture
def data(database: Database, head: Actor) -> Path:
    with database.writing() as session:
        plant = add_plant(session)
        bench = add_bench(session, "Mist bench 2")
        stick(session, head, plant=plant, bench_id=bench, trays=3)
        stick(session, head, plant=plant, bench_id=bench)
        add_stock_plant(session, plant)
        set_label_address(session, actor=head, now=NOW, version=1, address="http://shed:8321")
    database.close()
    return database.path.parent


def read(path: Path) -> list[str]:
    pages = pictures(path.read_bytes(), dpi=150)
    return [code.text for page in pages for code in scanned(page, dpi=150)]


def test_the_sheets_are_listed_with_their_measures(data: Path) -> None:
    answer = run_command("labels", "--sheets", data=data)
    assert answer.code == 0
    lines = answer.out.splitlines()
    assert len(lines) == len(SHEETS)
    assert lines[0].startswith("A4, 24 of 70 x 37: 3 across and 8 down, each 70 x 37 mm")


def test_labels_are_written_to_a_file_and_read_back(data: Path, tmp_path: Path) -> None:
    out = tmp_path / "labels.pdf"
    line = ("labels", "batches", "26-0001", "26-2", "--sheet", "A4, 24 of 70 x 37", "--out", out)
    answer = run_command(*line, data=data)
    assert (answer.code, answer.err) == (0, "")
    assert answer.out == f"{out}: 2 labels on 1 page.\n"
    assert sorted(read(out)) == ["http://shed:8321/to/26-0001", "http://shed:8321/to/26-0002"]
    again = run_command(*line, data=data)
    assert again.code == 1
    assert "is there already" in again.err


def test_one_per_tray_from_a_place_on_a_used_sheet(data: Path, tmp_path: Path) -> None:
    out = tmp_path / "labels.pdf"
    answer = run_command(
        "labels", "batches", "26-0001 to 26-0009", "--per-tray", "--start", "23", "--each", "2",
        "--out", out, data=data,
    )  # fmt: skip
    assert answer.out == f"{out}: 5 labels on 2 pages.\n"
    assert len(read(out)) == 5


@pytest.mark.parametrize(
    ("kind", "code", "ends"),
    [
        ("stock-plants", "s31", "/to/S-0031"),
        ("benches", "mist bench 2", "/to/B-0001"),
        ("benches", "b-1", "/to/B-0001"),
    ],
)
def test_other_kinds_on_an_own_size(
    data: Path, tmp_path: Path, kind: str, code: str, ends: str
) -> None:
    out = tmp_path / "one.pdf"
    line = ("labels", kind, code, "--sheet", "62 x 29", "--address", "10.0.0.7", "--out", out)
    assert run_command(*line, data=data).code == 0
    assert read(out) == [f"http://10.0.0.7{ends}"]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("batches",), "Say which labels"),
        (("batches", "26-0001"), "Say which labels"),
        (("batches", "26-0003", "26-0004", "--out", "x.pdf"), "called 26-0003, 26-0004: look"),
        (("batches", "Hebe", "--out", "x.pdf"), '"Hebe" is no code'),
        (("batches", "26-0001", "--sheet", "A9", "--out", "x.pdf"), "Give the name of a sheet"),
        (("batches", "26-0001", "--start", "25", "--out", "x.pdf"), "from 1 to 24"),
        (("batches", "26-0001", "--each", "0", "--out", "x.pdf"), "--each is 1 or more"),
        (("batches", "26-0001", "--address", "?", "--out", "x.pdf"), "Give the address"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_written(
    data: Path, words: tuple[str, ...], sentence: str
) -> None:
    answer = run_command("labels", *words, data=data)
    assert answer.code == 1
    assert sentence in answer.err
    assert not Path("x.pdf").exists()


def test_without_a_set_address_it_says_where_the_codes_lead(
    data: Path, tmp_path: Path, database: Database, head: Actor, monkeypatch: pytest.MonkeyPatch
) -> None:
    with database.writing() as session:
        set_label_address(session, actor=head, now=NOW, version=2, address="")
    monkeypatch.setattr(command, "own_addresses", lambda: ("192.0.2.44",))
    out = tmp_path / "one.pdf"
    answer = run_command("labels", "batches", "26-0001", "--out", out, data=data)
    assert "the codes lead to http://192.0.2.44:8321" in answer.err
    assert read(out) == ["http://192.0.2.44:8321/to/26-0001"]
