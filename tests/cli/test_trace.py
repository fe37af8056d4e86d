"""`trace`: a line from a terminal."""

import json
from pathlib import Path

import pytest

from app.domain.people import Actor
from app.domain.stock_plants import Origin, StockPlantEntry
from app.services.stock_plants import add_stock_plant
from app.store.session import Database
from tests.cli.running import run_command
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_bench, add_plant, from_stock_plant
from tests.services.batch_records import add_stock_plant as put_stock_plant
from tests.services.check_records import check, lost, said, stick


@pytest.fixture
def data(database: Database, head: Actor) -> Path:
    """S-0031, a batch cut from it, S-0032 raised from that, and a batch cut from this one."""
    with database.writing() as session:
        plant = add_plant(session)
        first = put_stock_plant(session, plant)
        batch = stick(session, head, plant=plant, sources=(from_stock_plant(first),))
        check(session, head, batch, said(8, 38, lost=lost(11)))
        entry = StockPlantEntry(
            plant_name_id=plant, plants=12, origin=Origin.RAISED_HERE, raised_from_id=batch.id
        )
        raised = add_stock_plant(session, actor=head, today=TODAY, now=NOW, entry=entry)
        bench = add_bench(session)
        again = from_stock_plant(raised.id)
        stick(session, head, plant=plant, sources=(again,), bench_id=bench)
    database.close()
    return database.path.parent


def test_the_table_draws_the_line_both_ways(data: Path) -> None:
    answer = run_command("trace", "26-1", data=data)
    assert answer.code == 0
    assert answer.out.splitlines() == [
        "26-0001 Hebe 'Great Orme', generation 1",
        "",
        "What was taken from it",
        "  S-0032 Hebe 'Great Orme'; 12 plants, fit to cut; no bench recorded",
        "    26-0002 Hebe 'Great Orme'; Wed 14 Oct; 96 stuck, 0 rooted, 96 unrooted; Mist bench 2",
        "",
        "Where it came from",
        "  S-0031 Hebe 'Great Orme'; 1 plant, fit to cut; no bench recorded",
    ]


def test_one_way_alone_and_as_json(data: Path) -> None:
    up = json.loads(run_command("trace", "26-0002", "--up", "--format", "json", data=data).out)
    assert [(one["step"], one["code"], one["generation"]) for one in up] == [
        (1, "S-0032", 1),
        (2, "26-0001", 1),
        (3, "S-0031", 0),
    ]
    assert up[1] | {"plant": ""} == {
        "way": "up", "step": 2, "generation": 1, "kind": "batch", "code": "26-0001", "plant": "",
        "on": "2026-10-14", "number": 96, "rooted": 38, "unrooted": 47, "state": "part rooted",
        "benches": [], "is_here": True, "told_before": False,
    }  # fmt: skip
    down = json.loads(run_command("trace", "s31", "--down", "--format", "json", data=data).out)
    assert [one["code"] for one in down] == ["26-0001", "S-0032", "26-0002"]


def test_what_has_no_line_says_so(data: Path) -> None:
    answer = run_command("trace", "S-0031", "--up", data=data)
    assert answer.out.endswith("Where it came from\n  nothing recorded\n")
    refused = run_command("trace", "26-9999", data=data)
    assert (refused.code, refused.out) == (1, "")
    assert "There is no stock plant and no batch 26-9999" in refused.err
    assert run_command("trace", "26-0001", "--up", "--down", data=data).code == 2
