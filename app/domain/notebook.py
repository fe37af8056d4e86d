"""The notebook sheet as it was understood: batches with their checks, and what is wrong with it.

How a line is read stands in `notebook_lines`, how lines become batches and checks in
`notebook_batches`, and how they compare with what is stored in `notebook_comparison`.
"""

from collections.abc import Iterable
from dataclasses import dataclass, fields
from datetime import date
from typing import Final, TypeVar

from app.domain.cutting_types import Cut, CuttingType
from app.domain.hormones import Hormone
from app.domain.outcomes import CheckCounts, CheckKind, Ending
from app.domain.people import name_key
from app.domain.plant_name_parts import PlantName

_Value = TypeVar("_Value")


@dataclass(frozen=True, kw_only=True, slots=True)
class LineRemark:
    """A sentence about one cell: its line, its column ("" for the whole line), what to do."""

    line: int
    column: str
    sentence: str


@dataclass(frozen=True, kw_only=True, slots=True)
class BatchWords:
    """What is said of a batch itself, names as names; None, "" and () where nothing is said."""

    plant: PlantName | None = None
    stock_plant: tuple[str, ...] = ()
    taken_on: date | None = None
    stuck_on: date | None = None
    stuck: int | None = None
    cutting_type: CuttingType | None = None
    cut: Cut | None = None
    hormone: Hormone | None = None
    mix: str = ""
    container: str = ""
    per_plug: int | None = None
    bench: str = ""
    cover: str = ""
    bottom_heat_c: float | None = None
    person: str = ""
    note: str = ""


BLANK: Final = BatchWords()
WORDS: Final = tuple(field.name for field in fields(BatchWords))


@dataclass(frozen=True, kw_only=True, slots=True)
class CheckWords:
    """What one line says of a check; `rooted` and `lost` are None where the cell is blank."""

    checked_on: date
    checked_by: str = ""
    kind: CheckKind = CheckKind.COUNTED
    rooted: int | None = None
    lost: int | None = None
    lost_cause: str = ""
    unrooted_counted: int | None = None
    ending: Ending = Ending.NONE
    note: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class NotebookLine:
    """One line that could be read: the batch it belongs to and what it says."""

    number: int
    batch: str
    words: BatchWords
    check: CheckWords | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class NotebookCheck:
    """A check of one or more lines. A sample looked at its rooted and its unrooted together."""

    lines: tuple[int, ...]
    counts: CheckCounts
    unrooted_counted: int | None = None
    checked_by: str = ""
    note: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class NotebookBatch:
    """A batch of the sheet: its reference there, its lines, what is said of it, its checks.

    `lines` are all lines that are not wrong; `words` has plant, stuck_on and stuck.
    """

    reference: str
    lines: tuple[int, ...]
    words: BatchWords
    checks: tuple[NotebookCheck, ...] = ()

    @property
    def plant(self) -> PlantName:
        """The plant's name, which every batch has."""
        return _said(self.words.plant)

    @property
    def stuck_on(self) -> date:
        """The day of sticking, which every batch has."""
        return _said(self.words.stuck_on)

    @property
    def stuck(self) -> int:
        """How many were stuck, which every batch has."""
        return _said(self.words.stuck)


@dataclass(frozen=True, kw_only=True)
class NotebookSheet:
    """A sheet after reading. `wrong` and `minded` are in the order of the lines.

    `wrong` says what keeps lines from being taken, `minded` what was taken but wants a look.
    """

    batches: tuple[NotebookBatch, ...]
    wrong: tuple[LineRemark, ...]
    minded: tuple[LineRemark, ...]
    ignored: tuple[str, ...]
    lines: tuple[int, ...]


def in_line_order(remarks: Iterable[LineRemark]) -> tuple[LineRemark, ...]:
    """Return the remarks by line, those of one line in the order they were made."""
    return tuple(sorted(remarks, key=lambda remark: remark.line))


def says(value: object) -> bool:
    """Return whether a cell says anything; a nought does."""
    return value not in (None, "", ())


def shown(value: object) -> str:
    """Return what is said of a batch as it would be typed into its cell; "" for nothing."""
    if value is None:
        return ""
    if isinstance(value, PlantName):
        return value.plain
    if isinstance(value, Hormone):
        return value.label
    if isinstance(value, tuple):
        return " + ".join(map(shown, value))
    if isinstance(value, float):
        return f"{value:g}"
    return str(value)


def same_words(one: object, *, other: object) -> bool:
    """Return whether two cells say the same, whatever the case and order of names."""
    if isinstance(one, tuple) and isinstance(other, tuple):
        return {name_key(name) for name in one} == {name_key(name) for name in other}
    if isinstance(one, PlantName) or isinstance(other, PlantName):
        return shown(one) == shown(other)
    if type(one) is str and type(other) is str:
        return name_key(one) == name_key(other)
    return one == other


def _said(value: _Value | None) -> _Value:
    if value is None:
        raise ValueError("a batch of a notebook has plant, stuck_on and stuck")
    return value
