"""The sheet of dispatches: several lines in a cell, lots and batches, what does not add up."""

from app.services.sheet_imports import Writer
from app.store.session import Database
from tests.conftest import TODAY
from tests.services.sheet_log import assert_sound, blank_line, compared, opened, taken_out

SENT = {"sent_on": TODAY.isoformat(), "to_whom": "Wetherby and Daughters", "reference": "4712"}


def test_lots_and_batches_leave_in_one_dispatch(log: Database, writer: Writer) -> None:
    lines = taken_out(log, "dispatches")
    typed = SENT | {"dispatch": "", "lines": "l2: 1\n26-0001, 3"}
    reading = opened("dispatches", [blank_line(lines, typed)])
    with log.writing() as session:
        assert reading.write_anew(session, writer=writer) == "1 record added."
    made = taken_out(log, "dispatches")[-1]
    of_lot, of_batch = made["lines"].split("; ")
    assert of_lot == "L-0002 1"
    assert of_batch.startswith("L-")
    assert of_batch.endswith(" 3")
    again = opened("dispatches", taken_out(log, "dispatches"))
    assert compared(log, again, writer).to_write == ()
    assert_sound(log)


def test_a_dispatch_is_found_again_by_its_code(log: Database, writer: Writer) -> None:
    first = taken_out(log, "dispatches")[0]
    found = compared(log, opened("dispatches", [first | {"dispatch": "G-0001"}]), writer)
    assert found.wrong == ()
    assert found.to_write == ()


def test_more_than_there_are_and_unknown_codes_are_told(log: Database, writer: Writer) -> None:
    lines = taken_out(log, "dispatches")
    wrong = [
        blank_line(lines, SENT | {"lines": sent})
        for sent in ("L-0002 5000", "L-0099 1", "L-0002 many")
    ]
    found = compared(log, opened("dispatches", wrong), writer)
    assert {remark.column for remark in found.wrong} == {"lines"}
    told = {remark.line: remark.sentence for remark in found.wrong}
    assert told[2].startswith("L-0002: ")
    assert "no liner lot and no batch L-0099" in told[3]
    assert "a code and a number" in told[4]
    assert compared(log, opened("dispatches", [lines[0]]), writer).wrong == ()
