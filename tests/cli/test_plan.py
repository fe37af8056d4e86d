"""`plan`: many orders together, its columns a public format."""

import csv
import json
from pathlib import Path

import pytest

from app.store.session import Database
from tests.cli.running import Answer, run_command
from tests.journeys.told_log import tell_small_log

COLUMNS = ["order", "plant", "week", "cuttings", "trays", "short", "limit"]
HEBE = "Hebe 'Great Orme'"


@pytest.fixture
def data(database: Database) -> Path:
    tell_small_log(database)
    database.close()
    return database.path.parent


def plan(data: Path, sheet: str, *more: str) -> Answer:
    path = data.parent / "orders.csv"
    path.write_text(sheet, encoding="utf-8")
    return run_command("plan", "--orders", str(path), *more, data=data)


def lines(data: Path, sheet: str, *more: str) -> list[dict[str, object]]:
    answer = plan(data, sheet, "--format", "json", *more)
    assert (answer.code, answer.err) == (0, "")
    return json.loads(answer.out)  # type: ignore[no-any-return]


ONE = f"plant,plants,due,window_weeks\n{HEBE},60,2027-09-01,6\n"


def test_one_order_is_stuck_in_time(data: Path) -> None:
    found = lines(data, ONE, "--trays", "50")
    assert [list(line) for line in found] == [COLUMNS] * len(found)
    stuck = [line for line in found if line["week"]]
    short = [line for line in found if not line["week"]]
    wanted = sum(int(str(line["cuttings"])) for line in stuck)
    wanted += sum(int(str(line["short"])) for line in short)
    assert wanted > 60
    assert all("2027-W10" < str(line["week"]) < "2027-W35" for line in stuck)


def test_what_stops_an_order_is_named(data: Path) -> None:
    found = lines(data, ONE, "--labour", "20")
    limits = {str(line["limit"]) for line in found if line["short"]}
    assert limits & {"labour"} or any("stock plants" in limit for limit in limits)
    soon = lines(data, f"plant,plants,due\n{HEBE},60,+3\n")
    assert [(line["week"], line["short"], line["limit"]) for line in soon] == [
        ("", None, "too late")
    ]


def test_the_table_and_csv_say_the_same(data: Path) -> None:
    rows = list(
        csv.DictReader(plan(data, ONE, "--format", "csv", "--trays", "50").out.splitlines())
    )
    assert list(rows[0]) == COLUMNS
    out = plan(data, ONE, "--trays", "50").out
    assert all(row["week"] in out for row in rows)
    assert "Bench space: 50 trays free each week, 84 plugs in a tray." in out
    assert "A longer search could save at most" in out
    # The open orders of the log, where no sheet is given.
    answer = run_command("plan", "--format", "csv", data=data)
    assert answer.code == 0
    assert "order 1" in answer.out


def test_no_order_to_plan(database: Database) -> None:
    database.close()
    answer = run_command("plan", data=database.path.parent)
    assert answer.code == 1
    assert "There is no open order to plan" in answer.err


def test_a_wrong_sheet_is_refused(data: Path) -> None:
    answer = plan(data, "plant,plants,due\nHebe,none,week 20\n")
    assert (answer.code, answer.out) == (1, "")
    assert "Line 2, plants" in answer.err
    assert run_command("plan", "--trays", "0", data=data).code == 2
