"""`due`: the list of Today from a terminal."""

import csv
import json
from pathlib import Path

import pytest

from app.cli.due import COLUMNS
from app.domain.people import Actor
from app.services.bench_walks import walk_bench
from app.store.session import Database
from tests.cli.running import run_command
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_bench, add_plant
from tests.services.check_records import check, day, lost, said, stick
from tests.services.finished_records import add_finished, add_growing


@pytest.fixture
def data(database: Database, head: Actor) -> Path:
    """A late batch with rot on a bench, and one to be looked at in three days on another."""
    with database.writing() as session:
        plant = add_plant(session)
        mist = add_bench(session, "Mist bench 2", walking_order=1)
        frame = add_bench(session, "Cold frame A", walking_order=2)
        late = stick(session, head, plant=plant, bench_id=mist)
        check(session, head, late, said(8, 38, lost=lost(11)))
        stick(session, head, plant=plant, bench_id=frame, stuck_on=day(20))
        walk_bench(session, actor=head, today=TODAY, now=NOW, bench_id=frame, walked_on=day(4))
    database.close()
    return database.path.parent


def test_the_table_says_it_in_sentences_by_bench(data: Path) -> None:
    answer = run_command("due", data=data)
    assert answer.code == 0
    lines = answer.out.splitlines()
    assert lines[0] == "One batch wants a look today, and it is late. Wed 25 November 2026."
    assert lines[2] == "Mist bench 2, 1 batch: 1 late"
    assert lines[3].split("  ")[1:3] == ["26-0001", "Hebe 'Great Orme'"]
    assert "1 day late" in lines[3]
    assert "38 rooted, 47 unrooted, 11 lost" in lines[3]
    assert "URGENT: basal rot at the last check, and it spreads" in lines[3]
    assert lines[5] == "Cold frame A, 1 batch: 1 coming"
    assert "due tomorrow" in lines[6]


def test_another_day_can_be_asked_for(data: Path) -> None:
    answer = run_command("due", "--on", "26 nov", data=data)
    assert answer.out.startswith(
        "Two batches want a look today, one of them late. Thu 26 November 2026."
    )
    refused = run_command("due", "--on", "soonish", data=data)
    assert refused.code == 1
    assert "Give a day such as" in refused.err
    assert run_command("due", "--format", "pdf", data=data).code == 2


def test_csv_and_json_say_the_same(data: Path) -> None:
    rows = list(csv.DictReader(run_command("due", "--format", "csv", data=data).out.splitlines()))
    records = json.loads(run_command("due", "--format", "json", data=data).out)
    assert list(rows[0]) == list(COLUMNS) == list(records[0])
    told = [{name: "" if v is None else str(v) for name, v in each.items()} for each in records]
    assert told == rows
    first = records[0]
    assert (first["batch"], first["bench"], first["state"]) == ("26-0001", "Mist bench 2", "late")
    assert (first["due_on"], first["age_days"], first["unrooted"]) == ("2026-11-24", 42, 47)


def test_nothing_due_is_a_sentence_and_an_empty_sheet(tmp_path: Path) -> None:
    assert run_command("due", data=tmp_path).out.startswith("Nothing wants a look today.")
    sheet = run_command("due", "--format", "csv", data=tmp_path).out
    assert sheet == ",".join(COLUMNS) + "\n"
    assert json.loads(run_command("due", "--format", "json", data=tmp_path).out) == []


def test_what_was_learned_is_told_and_orders_the_list(database: Database, head: Actor) -> None:
    with database.writing() as session:
        plant = add_finished(session, head, batches=14)
        small = add_growing(session, head, plant=plant, stuck=6, age_days=30)
        large = add_growing(session, head, plant=plant, stuck=300, age_days=30)
    database.close()
    data = database.path.parent
    lines = json.loads(run_command("due", "--format", "json", data=data).out)
    assert [line["batch"] for line in lines] == [small.code, large.code]
    assert {line["basis"] for line in lines} == {"by 14 finished batches of Hebe"}
    assert lines[1]["expected_new"] > 10 * lines[0]["expected_new"]
    assert lines[1]["waiting_cost"] > 0 > lines[0]["waiting_cost"]
    assert lines[1]["expect"].startswith("first count due: about ")
    assert "rooted ones are standing too long" in lines[1]["expect"]
    ordered = json.loads(run_command("due", "--order", "cost", "--format", "json", data=data).out)
    assert [line["batch"] for line in ordered] == [large.code, small.code]
    table = run_command("due", "--order", "cost", data=data).out.splitlines()
    assert table[2] == "Late, 2 batches"
    assert large.code in table[3]
    assert "(by 14 finished batches of Hebe)" in table[3]
