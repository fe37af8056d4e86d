"""The sheet of liner stages: potting up, what is said of which stage, what is done elsewhere."""

import pytest

from app.services.sheet_imports import Writer
from app.store.session import Database
from tests.conftest import TODAY
from tests.services.sheet_log import (
    assert_sound,
    blank_line,
    compared,
    counts,
    opened,
    taken_out,
)

POTTED_UP = {
    "stage": "potted up",
    "reached_on": TODAY.isoformat(),
    "batch": "26-0001",
    "number": "4",
    "trays": "1",
    "mix_lot": "M-0001",
    "litres": "2.5",
    "bench": "Mist bench 2",
    "by": "Tomas Quill",
}


def remarks(log: Database, writer: Writer, said: dict[str, str]) -> dict[str, str]:
    line = blank_line(taken_out(log, "liner-stages"), said)
    found = compared(log, opened("liner-stages", [line]), writer)
    return {remark.column: remark.sentence for remark in found.wrong}


def test_potting_up_makes_a_lot_on_its_bench(log: Database, writer: Writer) -> None:
    lines = taken_out(log, "liner-stages")
    reading = opened("liner-stages", [*lines, blank_line(lines, POTTED_UP)])
    assert counts(compared(log, reading, writer)) == {"new": 1, "the same": len(lines)}
    with log.writing() as session:
        assert reading.write(session, writer=writer).startswith("1 record added")
    made = taken_out(log, "liner-stages")[-1]
    assert made | POTTED_UP == made
    assert made["into_lot"] > max(line["into_lot"] for line in lines)
    assert_sound(log)


@pytest.mark.parametrize(
    "said",
    [
        {"stage": "ready", "liner_lot": "L-0001"},
        {"stage": "potted on", "liner_lot": "L-0001", "mix_lot": "M-0001", "litres": "3"},
        {"stage": "pinched", "liner_lot": "L-0001"},
        {"stage": "came through the winter", "liner_lot": "L-0001"},
        {"stage": "looked at", "liner_lot": "L-0001"},
        {"stage": "graded out", "liner_lot": "L-0001", "number": "1", "grade": "too small"},
        {"stage": "weaning begun", "batch": "26-0001"},
        {"stage": "lost", "batch": "26-0001", "number": "1", "cause": "grey mould"},
    ],
)
def test_each_stage_is_one_record(log: Database, writer: Writer, said: dict[str, str]) -> None:
    lines = taken_out(log, "liner-stages")
    wanted = {"reached_on": TODAY.isoformat()} | said
    reading = opened("liner-stages", [blank_line(lines, wanted)])
    with log.writing() as session:
        assert reading.write_anew(session, writer=writer) == "1 record added."
    after = taken_out(log, "liner-stages")
    assert len(after) == len(lines) + 1
    assert after[-1] | wanted == after[-1]
    assert_sound(log)


@pytest.mark.parametrize(
    ("stage", "sentence"),
    [
        ("sent out", "a sheet of dispatches"),
        ("kept as stock plants", "on the page of their lot"),
        ("split", "on its own page"),
        ("merged", "on their page"),
    ],
)
def test_what_is_done_elsewhere_says_where(
    log: Database, writer: Writer, stage: str, sentence: str
) -> None:
    said = {"stage": stage, "reached_on": TODAY.isoformat(), "liner_lot": "L-0001", "number": "1"}
    assert sentence in remarks(log, writer, said)["stage"]


@pytest.mark.parametrize(
    ("more", "column", "sentence"),
    [
        ({"liner_lot": "L-0001"}, "liner_lot", "not said of “potted up”"),
        ({"batch": ""}, "batch", "of which batch"),
        ({"batch": "26-9999"}, "batch", "no batch 26-9999"),
        ({"mix_lot": ""}, "mix_lot", "of which mix lot"),
        ({"mix_lot": "M-0099"}, "mix_lot", "no mix lot M-0099"),
        ({"container": "No pot"}, "container", "no container called No pot"),
        ({"cause": "grey mould"}, "cause", "not said of “potted up”"),
        ({"number": "5000"}, "number", ""),
        ({"number": ""}, "number", "Say how many"),
        ({"reached_on": "2026-12-24"}, "reached_on", "still to come"),
        ({"into_lot": "L-0099"}, "into_lot", "The log gives this itself"),
    ],
)
def test_what_is_wrong_of_potting_up_stands_at_its_column(
    log: Database, writer: Writer, more: dict[str, str], column: str, sentence: str
) -> None:
    assert sentence in remarks(log, writer, POTTED_UP | more)[column]


@pytest.mark.parametrize(
    ("said", "column", "sentence"),
    [
        ({"stage": "ready", "liner_lot": "L-0001", "number": "1"}, "number", "the whole lot"),
        ({"stage": "ready", "liner_lot": "L-0099"}, "liner_lot", "no liner lot L-0099"),
        ({"stage": "ready"}, "liner_lot", "of which liner lot"),
        ({"stage": "lost", "number": "1"}, "liner_lot", "and not both"),
        (
            {"stage": "lost", "liner_lot": "L-0001", "number": "1", "cause": "bad luck"},
            "cause",
            "no cause of loss called bad luck",
        ),
    ],
)
def test_what_is_wrong_of_a_lot_stands_at_its_column(
    log: Database, writer: Writer, said: dict[str, str], column: str, sentence: str
) -> None:
    found = remarks(log, writer, {"reached_on": TODAY.isoformat()} | said)
    assert sentence in found[column]
