"""Sheets of every kind of record: out and in again, an edited cell, a new line, wrong lines."""

import io
import json
from dataclasses import replace
from typing import Any

import pytest
from sqlalchemy import func, select

from app.domain.notebook_comparison import LineState
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.formats.csv_sheets import csv_chunks, read_csv
from app.formats.xlsx_sheets import read_xlsx, write_xlsx
from app.services.exports import ExportKind, export_rows
from app.services.import_stages import NOTEBOOK
from app.services.notebook_writing import LogChanged
from app.services.sheet_imports import Writer, open_import
from app.services.sheet_kinds import SHEET_KINDS, kind_of_header
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.migrations.rows import contents
from tests.services.sheet_cases import CASES
from tests.services.sheet_log import (
    assert_sound,
    blank_line,
    compared,
    counts,
    history,
    opened,
    taken_out,
)

KINDS = sorted(SHEET_KINDS)
EVERY = pytest.mark.parametrize("kind", KINDS)


def _but_none(numbers: dict[str, int]) -> dict[str, int]:
    return {name: number for name, number in numbers.items() if number}


def test_every_kind_that_comes_in_goes_out_and_has_a_case() -> None:
    assert set(CASES) == set(SHEET_KINDS)
    assert set(SHEET_KINDS) <= {str(kind) for kind in ExportKind}


@EVERY
def test_a_sheet_taken_out_reads_in_as_the_same(log: Database, writer: Writer, kind: str) -> None:
    lines = taken_out(log, kind)
    comparison = compared(log, opened(kind, lines), writer)
    assert comparison.wrong == ()
    assert counts(comparison) == {LineState.SAME.value: len(lines)}


@EVERY
def test_a_workbook_reads_in_as_the_same(log: Database, writer: Writer, kind: str) -> None:
    file = io.BytesIO()
    write_xlsx(export_rows(log.reading, kind=ExportKind(kind)), target=file)
    rows = read_xlsx(file.getvalue(), row_limit=10_000)
    reading = open_import(kind, lines=rows, reference="", today=TODAY)
    comparison = compared(log, reading, writer)
    assert comparison.wrong == ()
    assert set(counts(comparison)) == {LineState.SAME.value}


@EVERY
def test_looking_over_changes_nothing(log: Database, writer: Writer, kind: str) -> None:
    before = contents(log.path)
    lines = taken_out(log, kind)
    lines[0] |= CASES[kind].edit
    compared(log, opened(kind, [*lines, blank_line(lines, CASES[kind].new or {})]), writer)
    assert contents(log.path) == before


@pytest.mark.parametrize("kind", [kind for kind in KINDS if CASES[kind].edit])
def test_an_edited_cell_is_one_correction(log: Database, writer: Writer, kind: str) -> None:
    lines = taken_out(log, kind)
    edit = CASES[kind].edit
    lines[0] |= edit
    reading = opened(kind, lines)
    comparison = compared(log, reading, writer)
    assert comparison.wrong == ()
    assert counts(comparison) == _but_none({"changed": 1, "the same": len(lines) - 1})
    assert {remark.column for remark in comparison.changes} == set(edit)
    before = len(history(log))
    with log.writing() as session:
        assert reading.write(session, writer=writer) == "1 record corrected."
    added = history(log)[before:]
    assert len(added) == 1
    assert json.loads(added[0].change)["reason"] == [None, "sheet"]
    assert taken_out(log, kind)[0] | edit == taken_out(log, kind)[0]
    assert counts(compared(log, opened(kind, lines), writer)) == {"the same": len(lines)}
    assert_sound(log)


@pytest.mark.parametrize("kind", [kind for kind in KINDS if CASES[kind].new])
def test_a_new_line_is_one_new_record(log: Database, writer: Writer, kind: str) -> None:
    lines = taken_out(log, kind)
    new = CASES[kind].new or {}
    reading = opened(kind, [*lines, blank_line(lines, new)])
    comparison = compared(log, reading, writer)
    assert comparison.wrong == ()
    assert counts(comparison) == {"new": 1, "the same": len(lines)}
    with log.writing() as session:
        assert reading.write(session, writer=writer).startswith("1 record added")
    after = taken_out(log, kind)
    assert len(after) == len(lines) + 1
    assert after[-1] | new == after[-1]
    assert_sound(log)


@EVERY
def test_a_wrong_line_is_told_by_line_and_column(log: Database, writer: Writer, kind: str) -> None:
    lines = taken_out(log, kind)
    case = CASES[kind]
    reading = opened(kind, [*lines, blank_line(lines, case.wrong)])
    comparison = compared(log, reading, writer)
    assert [(remark.line, remark.column) for remark in comparison.wrong] == [
        (len(lines) + 2, case.wrong_column)
    ]
    before = contents(log.path)
    with (
        pytest.raises(NotAccepted, match="Nothing was written: 1 line is wrong"),
        log.writing() as session,
    ):
        reading.write(session, writer=writer)
    assert contents(log.path) == before


@EVERY
def test_the_header_tells_the_kind(log: Database, kind: str) -> None:
    assert kind_of_header(list(taken_out(log, kind)[0])) == kind


def test_a_notebook_is_told_by_its_header(log: Database) -> None:
    assert kind_of_header(list(taken_out(log, "notebook")[0])) == NOTEBOOK
    assert kind_of_header(["something", "else"]) == NOTEBOOK


def test_wrong_lines_can_be_left_out(log: Database, head: Actor) -> None:
    lines = taken_out(log, "benches")
    wrong = blank_line(lines, {"bench": "Bad", "capacity_trays": "-1"})
    good = blank_line(lines, {"bench": "Good"})
    reading = opened("benches", [*lines, wrong, good])
    writer = Writer(actor=head, today=TODAY, now=NOW, skip_wrong=True)
    compared(log, reading, writer)
    with log.writing() as session:
        said = reading.write(session, writer=writer)
    assert said == "1 record added, 1 wrong line left out."
    names = [line["bench"] for line in taken_out(log, "benches")]
    assert "Good" in names
    assert "Bad" not in names


def test_a_column_left_out_changes_nothing_and_a_blank_cell_empties(
    log: Database, writer: Writer
) -> None:
    first = taken_out(log, "benches")[0]
    assert first["capacity_trays"] == "24"
    kept = compared(log, opened("benches", [{"bench": first["bench"]}]), writer)
    assert counts(kept) == {"the same": 1}
    emptied = [{"bench": first["bench"], "capacity_trays": ""}]
    found = compared(log, opened("benches", emptied), writer)
    assert [remark.sentence for remark in found.changes] == ["24 in the log becomes blank."]


def test_what_must_be_there_is_not_emptied(log: Database, writer: Writer) -> None:
    lines = taken_out(log, "stock-plants")
    lines[0]["plants"] = ""
    found = compared(log, opened("stock-plants", lines), writer)
    assert [(remark.line, remark.column) for remark in found.wrong] == [(2, "plants")]
    assert "cannot be blank" in found.wrong[0].sentence


def test_what_a_sheet_cannot_change_says_where_to_do_it(log: Database, writer: Writer) -> None:
    lines = taken_out(log, "benches")
    lines[0]["closed"] = "yes"
    found = compared(log, opened("benches", lines), writer)
    assert [(remark.line, remark.column) for remark in found.wrong] == [(2, "closed")]
    assert "on its own page" in found.wrong[0].sentence
    lines = taken_out(log, "stock-plants")
    lines[0]["state"] = "discarded"
    found = compared(log, opened("stock-plants", lines), writer)
    assert "asks for the day and the reason" in found.wrong[0].sentence
    for column, value in (
        ("plants", "99"),
        ("tested_until", "2030-01-01"),
        ("renew_by", "2031-01-01"),
    ):
        lines = taken_out(log, "stock-plants")
        changed = [dict(line, **{column: value}) for line in lines if line[column] != value]
        found = compared(log, opened("stock-plants", changed), writer)
        assert {remark.column for remark in found.wrong} <= {column}
        assert all("with its day" in remark.sentence for remark in found.wrong)
        assert len(found.wrong) == len(changed)


ADDED_TO = {
    "hormones": "form",
    "treatments": "what",
    "stock-plant-days": "note",
    "liner-stages": "note",
    "dispatches": "note",
}


@pytest.mark.parametrize("kind", ADDED_TO)
def test_what_is_only_added_to_is_not_changed(log: Database, writer: Writer, kind: str) -> None:
    lines = taken_out(log, kind)
    column = ADDED_TO[kind]
    lines[0][column] = "something else"
    found = compared(log, opened(kind, lines), writer)
    assert found.wrong[0].line == 2
    assert "cannot be changed by a sheet" in found.wrong[0].sentence


def test_a_record_told_twice_is_wrong(log: Database, writer: Writer) -> None:
    lines = taken_out(log, "benches")
    again = dict(lines[0]) | {"bench": lines[0]["bench"].upper()}
    found = compared(log, opened("benches", [*lines, again]), writer)
    assert found.wrong[0].line == len(lines) + 2
    assert f"Line 2 is of {again['bench']} already" in found.wrong[0].sentence


def test_an_unknown_code_is_not_made(log: Database, writer: Writer) -> None:
    lines = taken_out(log, "stock-plants")
    found = compared(log, opened("stock-plants", [dict(lines[0], stock_plant="S-0999")]), writer)
    assert "There is no S-0999 in the log" in found.wrong[0].sentence


def test_names_made_with_a_line_are_listed(log: Database, writer: Writer) -> None:
    lines = taken_out(log, "stock-plants")
    new = blank_line(lines, {"plant": "Weigela florida", "bench": "Far bench"})
    wrong = blank_line(lines, {"plant": "Weigela middendorffiana", "plants": "-1"})
    found = compared(log, opened("stock-plants", [*lines, new, wrong]), writer)
    assert dict(found.new_names.listed) == {
        "plants": ("Weigela florida",),
        "benches": ("Far bench",),
    }


def test_a_log_changed_meanwhile_is_looked_over_again(log: Database, writer: Writer) -> None:
    lines = taken_out(log, "benches")
    reading = opened("benches", [*lines, blank_line(lines, {"bench": "Far bench"})])
    compared(log, reading, writer)
    other = opened("benches", [{"bench": "Other bench"}])
    with log.writing() as session:
        other.write_anew(session, writer=writer)
    with pytest.raises(LogChanged), log.writing() as session:
        reading.write(session, writer=writer)
    with log.writing() as session:
        assert reading.write_anew(session, writer=writer) == "1 record added."


def test_more_than_can_be_written_at_once_is_refused(
    log: Database, writer: Writer, monkeypatch: pytest.MonkeyPatch
) -> None:
    few = replace(SHEET_KINDS["benches"], most=1)
    monkeypatch.setattr("app.services.sheet_imports.SHEET_KINDS", {"benches": few})
    reading = opened("benches", [{"bench": "One"}, {"bench": "Two"}])
    compared(log, reading, writer)
    with pytest.raises(NotAccepted, match="Split the sheet"), log.writing() as session:
        reading.write(session, writer=writer)


def test_text_that_looks_like_a_formula_comes_back_as_typed(log: Database, writer: Writer) -> None:
    notes = "=HYPERLINK(1)"
    reading = opened("benches", [{"bench": "Far bench", "note": notes}])
    with log.writing() as session:
        reading.write_anew(session, writer=writer)
    data = b"".join(csv_chunks(export_rows(log.reading, kind=ExportKind.BENCHES)))
    assert f"'{notes}".encode() in data
    rows = read_csv(data, row_limit=100)
    again = open_import("benches", lines=rows, reference="", today=TODAY)
    assert set(counts(compared(log, again, writer))) == {"the same"}


def test_nobody_need_be_named(log: Database) -> None:
    nobody = Writer(actor=None, today=TODAY, now=NOW)
    lines = taken_out(log, "benches")
    lines[0]["note"] = "swept"
    reading = opened("benches", lines)
    compared(log, reading, nobody)
    with log.writing() as session:
        reading.write(session, writer=nobody)
    assert history(log)[-1].actor_key == ""


def test_a_line_longer_than_its_header_is_wrong(log: Database, writer: Writer) -> None:
    rows = read_csv(b"bench,note\nA,one,two\n", row_limit=10)
    reading = open_import("benches", lines=rows, reference="", today=TODAY)
    assert "more cells than the header" in compared(log, reading, writer).wrong[0].sentence


def test_no_kind_needs_more_than_its_module_says() -> None:
    for kind in SHEET_KINDS.values():
        names = [column.name for column in kind.columns]
        assert names[0] == kind.key
        assert set(names) <= set(kind.table.names)
        assert set(kind.needed) <= set(names)


def test_every_case_counts_on_something_in_the_log(log: Database) -> None:
    with log.reading() as session:
        for kind in SHEET_KINDS.values():
            number: Any = session.scalar(select(func.count(kind.table.key)))
            assert number, kind.name
