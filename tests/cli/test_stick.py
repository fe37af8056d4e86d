"""`stick`: its JSON keys are a public format, its refusals are sentences."""

import json
from pathlib import Path

import pytest

from app.store.session import Database
from tests.cli.running import Answer, run_command
from tests.journeys.told_log import tell_small_log

KEYS = ["stick", "chance", "naive", "naive_chance", "batches", "latest_on", "basis"]
HEBE = "Hebe 'Great Orme'"


@pytest.fixture
def data(database: Database) -> Path:
    tell_small_log(database)
    database.close()
    return database.path.parent


def ask(data: Path, *more: str, plant: str = HEBE, number: str = "120") -> Answer:
    return run_command("stick", "--plant", plant, "--number", number, *more, data=data)


def test_the_keys_are_a_public_format(data: Path) -> None:
    answer = ask(data, "--by", "week 24", "--format", "json")
    assert answer.code == 0
    record = json.loads(answer.out)
    assert list(record) == KEYS
    assert record["stick"] > record["naive"] > 120
    assert 0.9 <= record["chance"] < 0.93
    assert record["naive_chance"] < 0.6
    assert (record["batches"], record["basis"]) == (3, "own")
    assert "2027-03-01" < record["latest_on"] < "2027-05-30"


def test_without_a_day_nothing_runs_out(data: Path) -> None:
    record = json.loads(ask(data, "--format", "json").out)
    with_day = json.loads(ask(data, "--by", "week 24", "--format", "json").out)
    assert record["latest_on"] is None
    assert record["stick"] < with_day["stick"]


def test_sureness_as_a_share_or_in_per_cent(data: Path) -> None:
    sticks = [
        json.loads(ask(data, "--sure", sure, "--format", "json").out)["stick"]
        for sure in ("0.8", "80", "80 %", "0.95")
    ]
    assert sticks[0] == sticks[1] == sticks[2] < sticks[3]


def test_the_table_says_it_in_words(data: Path) -> None:
    answer = ask(data, "--by", "week 24", "--batches", "6")
    assert answer.code == 0
    for words in ("cuttings on or before", "in 6 batches", "naive sum", "rests on 7 batches"):
        assert words in answer.out
    assert answer.err == ""


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (("--sure", "1.5"), "Say how sure"),
        (("--sure", "surely"), "Give a number"),
        (("--batches", "0"), "Give at least 1."),
        (("--by", "31/2"), "no such day"),
        (("--by", "today"), "not to come any more"),
    ],
)
def test_a_wrong_question_is_wrong_usage(data: Path, typed: tuple[str, ...], said: str) -> None:
    answer = ask(data, *typed)
    assert (answer.code, answer.out) == (2, "")
    assert said in answer.err


def test_wrong_numbers_and_names(data: Path) -> None:
    assert ask(data, number="0").code == 2
    assert ask(data, number="12.5").code == 2
    assert ask(data, plant="").code == 2


def test_where_nothing_is_known_the_reason_is_said(database: Database) -> None:
    database.close()
    answer = ask(database.path.parent, "--format", "json", plant="Zelkova")
    assert answer.code == 1
    record = json.loads(answer.out)
    assert (record["stick"], record["naive"], record["basis"]) == (None, None, "none")
    assert "Run a test batch" in answer.err
