"""Reads one line of a notebook sheet: every cell by its column, every problem in it at once."""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, Final

from app.domain.batch_rules import LONGEST_NOTE
from app.domain.check_entries import LONGEST_NOTE as LONGEST_CHECK_NOTE
from app.domain.hormones import Hormone
from app.domain.notebook import BatchWords, CheckWords, LineRemark, NotebookLine
from app.domain.notebook_cells import (
    LONGEST_REFERENCE,
    LONGEST_TEXT,
    read_cause,
    read_cover,
    read_cut,
    read_cutting_type,
    read_day,
    read_degrees,
    read_ending,
    read_hormone,
    read_kind,
    read_name,
    read_names,
    read_note,
    read_number,
)
from app.domain.notebook_columns import BATCH, CHECK_COLUMNS
from app.domain.outcomes import CheckKind
from app.domain.people import accepted_name
from app.domain.plant_name_parts import PlantName
from app.domain.plant_name_rules import NameStatus
from app.domain.plant_names import parse_plant_name
from app.domain.problems import NotAccepted, Problem
from app.domain.sheet_headers import SheetHeader
from app.domain.sheet_lines import SheetLine

_MOST_PER_PLUG: Final = 1_000
_HORMONE_COLUMNS: Final = ("hormone", "hormone_form", "hormone_ppm")
_CHECKED: Final = frozenset(CHECK_COLUMNS)
_OWN_TEXT: Final = frozenset({BATCH, "note", "plant"})


class LineReader:
    """Reads the lines of one sheet; what a cell says is worked out once for each text."""

    def __init__(self, header: SheetHeader, *, today: date) -> None:
        self.minded: list[LineRemark] = []
        self._header = header
        self._today = today
        self._known: dict[tuple[str, str], Any] = {}
        self._plants: dict[str, tuple[PlantName, tuple[str, ...]]] = {}
        self._readers = self._make_readers()

    def read(self, line: SheetLine) -> tuple[NotebookLine | None, list[LineRemark], str]:
        """Return the line, or None with what is wrong in it; and the batch it names."""
        cells = self._cells(line)
        problems: list[Problem] = []
        values = self._values(cells, line=line, problems=problems)
        problems += _line_problems(cells, values)
        problems += self._stray(line)
        reference = values.get(BATCH, "")
        if problems:
            wrong = [
                LineRemark(line=line.number, column=problem.field, sentence=problem.sentence)
                for problem in problems
            ]
            return None, wrong, reference
        return _line(line.number, values), [], reference

    def _cells(self, line: SheetLine) -> dict[str, str]:
        texts = line.cells
        return {
            column: text
            for column, place in self._header.places.items()
            if place < len(texts) and (text := texts[place].strip())
        }

    def _values(
        self, cells: Mapping[str, str], *, line: SheetLine, problems: list[Problem]
    ) -> dict[str, Any]:
        values: dict[str, Any] = {}
        for column, text in cells.items():
            try:
                if column == "plant":
                    values[column] = self._plant(text, line=line.number)
                elif column not in _HORMONE_COLUMNS:
                    values[column] = self._value(column, text)
            except NotAccepted as refusal:
                problems += (
                    Problem(field=column, sentence=problem.sentence) for problem in refusal.problems
                )
        if any(column in cells for column in _HORMONE_COLUMNS):
            try:
                values["hormone"] = self._hormone(cells)
            except NotAccepted as refusal:
                problems += refusal.problems
        return values

    def _value(self, column: str, text: str) -> Any:
        if column in _OWN_TEXT:
            return self._readers[column](text)
        key = (column, text)
        if key not in self._known:
            self._known[key] = self._readers[column](text)
        return self._known[key]

    def _plant(self, text: str, *, line: int) -> PlantName:
        """Return the name; one that raises a question is taken, and listed with it."""
        if text not in self._plants:
            parsed = parse_plant_name(text)
            asked = parsed.notes if parsed.status is NameStatus.WARN else ()
            self._plants[text] = (parsed.name, asked)
            self.minded += (
                LineRemark(line=line, column="plant", sentence=f"{text}: {sentence}")
                for sentence in asked
            )
        return self._plants[text][0]

    def _hormone(self, cells: Mapping[str, str]) -> Hormone | None:
        texts = tuple(cells.get(column, "") for column in _HORMONE_COLUMNS)
        key = ("hormone", "\n".join(texts))
        if key not in self._known:
            self._known[key] = read_hormone(texts[0], form=texts[1], ppm=texts[2])
        found: Hormone | None = self._known[key]
        return found

    def _stray(self, line: SheetLine) -> list[Problem]:
        if not any(text.strip() for text in line.cells[self._header.width :]):
            return []
        sentence = (
            "This line has more cells than the header. Put a text that holds the sign between"
            " cells in quotation marks."
        )
        return [Problem(field="", sentence=sentence)]

    def _make_readers(self) -> dict[str, Callable[[str], Any]]:
        def day(column: str) -> Callable[[str], Any]:
            return lambda text: read_day(text, column=column, today=self._today)

        def count(column: str, least: int = 0) -> Callable[[str], Any]:
            return lambda text: read_number(text, column=column, least=least)

        def name(column: str) -> Callable[[str], Any]:
            return lambda text: read_name(text, column=column)

        return {
            BATCH: lambda text: read_name(text, column=BATCH, longest=LONGEST_REFERENCE),
            "stock_plant": lambda text: read_names(text, column="stock_plant"),
            "taken_on": day("taken_on"),
            "stuck_on": day("stuck_on"),
            "stuck": count("stuck", least=1),
            "cutting_type": read_cutting_type,
            "cut": read_cut,
            "mix": name("mix"),
            "container": lambda text: read_name(text, column="container", longest=LONGEST_TEXT),
            "per_plug": lambda text: read_number(
                text, column="per_plug", least=1, most=_MOST_PER_PLUG
            ),
            "bench": name("bench"),
            "cover": read_cover,
            "bottom_heat_c": lambda text: read_degrees(text, column="bottom_heat_c"),
            "person": lambda text: accepted_name(text, field="person"),
            "checked_on": day("checked_on"),
            "checked_by": lambda text: accepted_name(text, field="checked_by"),
            "kind": read_kind,
            "rooted": count("rooted"),
            "lost": count("lost"),
            "lost_cause": read_cause,
            "unrooted_counted": count("unrooted_counted"),
            "ending": read_ending,
            "note": lambda text: read_note(text, longest=LONGEST_NOTE),
        }


def _line_problems(cells: Mapping[str, str], values: Mapping[str, Any]) -> list[Problem]:
    if BATCH not in cells:
        sentence = "Put the batch's number or name, the same on all of its lines."
        return [Problem(field=BATCH, sentence=sentence)]
    if not _CHECKED & cells.keys():
        return []
    if "checked_on" not in cells:
        sentence = "Counts need their day. Put the day of the check here."
        return [Problem(field="checked_on", sentence=sentence)]
    return [] if _CHECKED & cells.keys() - values.keys() else _check_problems(values)


def _check_problems(values: Mapping[str, Any]) -> list[Problem]:
    if "lost_cause" in values and "lost" not in values:
        sentence = f"Put how many were lost to {values['lost_cause']}."
        return [Problem(field="lost", sentence=sentence)]
    kind = values.get("kind", CheckKind.COUNTED)
    if kind is CheckKind.SAMPLE and "unrooted_counted" not in values:
        sentence = "Put how many of those looked at for the sample had not rooted."
        return [Problem(field="unrooted_counted", sentence=sentence)]
    if len(values.get("note", "")) > LONGEST_CHECK_NOTE:
        sentence = f"Keep the note of a check within {LONGEST_CHECK_NOTE:,} letters."
        return [Problem(field="note", sentence=sentence)]
    if kind is CheckKind.LOOKED_ONLY and "unrooted_counted" in values:
        sentence = "A look carries no numbers. Clear this, or put counted under kind."
        return [Problem(field="unrooted_counted", sentence=sentence)]
    counted = {"rooted", "lost", "unrooted_counted", "ending"} & values.keys()
    if kind is CheckKind.COUNTED and not counted:
        sentence = "Put how many had newly rooted (0 for none), or looked only under kind."
        return [Problem(field="rooted", sentence=sentence)]
    return []


def _line(number: int, values: dict[str, Any]) -> NotebookLine:
    check = None
    note = values.pop("note", "")
    about_check = {column: values.pop(column) for column in CHECK_COLUMNS if column in values}
    reference = values.pop(BATCH)
    if about_check:
        check = CheckWords(**about_check, note=note)
        note = ""
    return NotebookLine(
        number=number, batch=reference, words=BatchWords(**values, note=note), check=check
    )
