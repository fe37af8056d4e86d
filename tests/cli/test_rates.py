"""`rates`: its columns are a public format, its refusals are sentences."""

import csv
import json
from datetime import date
from pathlib import Path

import pytest

from app.store.session import Database
from tests.cli.running import run_command
from tests.domain.rate_batches import Counts
from tests.store.rate_records import RateRecords

BARTLETT = Path(__file__).parent.parent / "data" / "bartlett_plum_root_cuttings.csv"
COLUMNS = (
    "batches,stuck,rooted,lost,dumped,cleared_unrooted,unrooted,strike_share,low_share,high_share,"
    "estimate_share,estimate_low_share,estimate_high_share,basis"
)


@pytest.fixture
def data(database: Database) -> Path:
    """Two genera: one finished in April and May, one young with a name that looks a formula."""
    with database.writing() as session:
        records = RateRecords(session=session)
        for day in (date(2026, 4, 7), date(2026, 5, 7), date(2025, 5, 9)):
            records.add_batch(Counts(rooted=20, lost=10), plant="Hebe", stuck_on=day, mix="=1+1")
        records.add_batch(
            Counts(rooted=6, lost=4, cleared_unrooted=5, unrooted=15, counted_at=20),
            plant="Cistus",
            taken_on=date(2026, 4, 6),
        )
    database.close()
    return database.path.parent


def test_the_columns_are_a_public_format(data: Path) -> None:
    answer = run_command("rates", "--by", "genus", "--by", "month", "--format", "csv", data=data)
    assert answer.code == 0
    lines = answer.out.splitlines()
    assert lines[0] == f"genus,month,{COLUMNS}"
    assert lines[1] == "Cistus,4,1,30,6,4,0,5,15,,,,,0.2,0.866667,bounds"
    assert lines[2].startswith("Hebe,4,1,30,20,10,0,0,0,0.666667,0.31")
    assert lines[2].endswith(",finished")
    assert lines[3].startswith("Hebe,5,2,60,40,20,0,0,0,0.666667,")
    assert len(lines) == 4


def test_plum_root_cuttings(database: Database) -> None:
    # Bartlett (1935) J. R. Statist. Soc. Suppl. 2:248-252; Hand et al. (1994) no. 19. CONFIRMED.
    source = BARTLETT.read_text(encoding="utf-8").splitlines()
    with database.writing() as session:
        records = RateRecords(session=session)
        for row in csv.DictReader(line for line in source if not line.startswith("#")):
            records.add_batch(
                Counts(rooted=int(row["alive"]), lost=int(row["dead"])),
                mix=row["length"],
                stuck_on=date(2025, 10, 9) if row["time"] == "now" else date(2026, 3, 9),
            )
    database.close()
    words = ("rates", "--by", "mix", "--by", "month", "--format", "json")
    records_out = json.loads(run_command(*words, data=database.path.parent).out)
    assert [(one["mix"], one["month"], one["stuck"]) for one in records_out] == [
        ("long", 3, 240),
        ("long", 10, 240),
        ("short", 3, 240),
        ("short", 10, 240),
    ]
    shares = [round(100 * one["strike_share"], 2) for one in records_out]
    assert shares == [35.00, 65.00, 12.92, 44.58]


def test_csv_and_json_say_the_same(data: Path) -> None:
    words = ("rates", "--by", "genus", "--format")
    rows = list(csv.DictReader(run_command(*words, "csv", data=data).out.splitlines()))
    records = json.loads(run_command(*words, "json", data=data).out)
    assert list(records[0]) == ["genus", *COLUMNS.split(",")]
    assert [
        {name: "" if value is None else str(value) for name, value in one.items()}
        for one in records
    ] == rows


def test_the_table_is_for_people(data: Path) -> None:
    out = run_command("rates", "--by", "genus", "--since", "2026", data=data).out
    lines = out.splitlines()
    assert lines[0] == "Strike rate by genus, stuck since 1 January 2026."
    assert lines[1] == "3 batches, 90 cuttings."
    assert lines[3].split()[:4] == ["genus", "batches", "stuck", "rooted"]
    assert "at worst 20 %, at best 87 %" in lines[4]
    assert lines[4].endswith("few")
    assert "67 % (" in lines[5]
    assert "a correlation of 0.12" in lines[7]


def test_filters_days_and_the_month_of_taking(data: Path) -> None:
    words = ("rates", "--by", "year", "--format", "csv")
    where = ("--where", "genus=hebe", "--where", "month=May")
    years = run_command(*words, *where, "--until", "2025", data=data).out.splitlines()
    assert [line.split(",")[0] for line in years] == ["year", "2025"]
    taken = run_command(*words, "--month-of", "taken", data=data).out.splitlines()
    assert [line.split(",")[0] for line in taken] == ["year", "2026", "not recorded"]


def test_text_that_looks_a_formula_is_guarded(data: Path) -> None:
    out = run_command("rates", "--by", "mix", "--format", "csv", data=data).out
    assert "\n'=1+1," in out


def test_batches_stuck_again_can_be_left_out(database: Database) -> None:
    with database.writing() as session:
        records = RateRecords(session=session)
        first = records.add_batch(Counts(rooted=5, lost=5))
        records.add_batch(Counts(rooted=9, lost=1), restuck_from=first)
    database.close()
    words = ("rates", "--by", "genus", "--format", "json")
    asked = [(), ("--restuck", "without"), ("--restuck", "with"), ("--restuck", "only")]
    found = []
    for more in asked:
        (record,) = json.loads(run_command(*words, *more, data=database.path.parent).out)
        found.append((record["batches"], record["strike_share"]))
    assert found == [(1, 0.5), (1, 0.5), (2, 0.7), (1, 0.9)]


def test_sources_counted_twice_are_said(database: Database) -> None:
    with database.writing() as session:
        RateRecords(session=session).add_batch(Counts(rooted=5, lost=5), sources=("S-1", "S-2"))
    database.close()
    out = run_command("rates", "--by", "stock_plant", data=database.path.parent).out
    assert "1 batch, 10 cuttings." in out
    assert "counts in the line of each" in out


def test_nothing_there_says_no_data(tmp_path: Path) -> None:
    assert (
        "No data: no batch answers to this."
        in run_command("rates", "--by", "genus", data=tmp_path).out
    )
    assert (
        json.loads(run_command("rates", "--by", "genus", "--format", "json", data=tmp_path).out)
        == []
    )


@pytest.mark.parametrize(
    "words",
    [
        (),
        ("--by", "species"),
        ("--by", "genus", "--where", "Cistus"),
        ("--by", "genus", "--where", "species=x"),
        ("--by", "genus", "--by", "genus"),
        ("--by", "genus", "--by", "month", "--by", "year"),
        ("--by", "genus", "--since", "soon"),
        ("--by", "genus", "--since", "2026", "--until", "2025"),
        ("--by", "genus", "--month-of", "checked"),
        ("--by", "genus", "--format", "pdf"),
    ],
)
def test_wrong_usage_is_2(data: Path, words: tuple[str, ...]) -> None:
    assert run_command("rates", *words, data=data).code == 2


def test_a_value_that_is_not_in_the_log_is_1_with_a_sentence(data: Path) -> None:
    answer = run_command("rates", "--by", "genus", "--where", "genus=Hebbe", data=data)
    assert answer.code == 1
    assert answer.err == 'There is no genus "Hebbe" in the log. Did you mean "Hebe"?\n'


def test_a_name_that_does_not_exist_is_said(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command("rates", "--by", "species", data=data).code == 2
    assert 'There is no name "species" to ask by' in capsys.readouterr().err
    answer = run_command("rates", "--by", "genus", "--by", "genus", data=data)
    assert "Ask by genus once" in answer.err


def test_plants_ready_per_cutting_stuck(data: Path) -> None:
    out = run_command("rates", "--by", "genus", "--of", "ready", data=data).out
    lines = out.splitlines()
    assert lines[0] == "Plants ready per cutting stuck by genus."
    assert "ready" in lines[3]
    assert "rooting or growing on" in lines[3]
    assert "at worst none of them, at best" in out
    sheet = run_command("rates", "--by", "genus", "--of", "ready", "--format", "csv", data=data)
    rows = list(csv.DictReader(sheet.out.splitlines()))
    assert list(rows[0]) == ["genus", *COLUMNS.split(",")]
    assert {row["rooted"] for row in rows} == {"0"}
