"""Laying a sheet of records beside the log and writing it: one way for every kind.

What a line would do is found by doing it, each line in a savepoint of its own: on a copy of the
log for looking over, on the log itself when it is written. So the look over knows every rule that
holds on writing.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.notebook import LineRemark, in_line_order
from app.domain.notebook_comparison import LineState
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.domain.record_sheets import (
    RecordColumn,
    RecordLine,
    RecordSheet,
    Values,
    change_remarks,
    differing,
    kept_remarks,
    remarks_of,
)
from app.services.history import because_of
from app.store.models.meta import Meta
from app.store.queries.exports import ExportTable, read_exported

REASON: Final = "sheet"
MOST_WRITTEN: Final = 2_000
Progress = Callable[[str], object]


@dataclass(frozen=True, kw_only=True)
class Work:
    """What a line is written with; `new_names` gathers, by kind, names that were made with it."""

    session: Session
    actor: Actor | None
    today: date
    now: datetime
    new_names: dict[str, list[str]] = field(default_factory=dict)

    def note_new(self, kind: str, name: str) -> None:
        """Remember a name that a line made beside its own record."""
        names = self.new_names.setdefault(kind, [])
        if name not in names:
            names.append(name)


@dataclass(frozen=True, kw_only=True)
class Kept:
    """A record as it is stored: its row, and its columns as they leave in a sheet."""

    id: int
    values: Values


@dataclass(frozen=True, kw_only=True)
class SheetKind:
    """A kind of record that goes out as a sheet and comes in again.

    `key` is the column that finds a record again: its name, or with `coded` the code that the log
    gives, which is blank for a new record. `needed` are the columns of a new one. `columns_of`
    maps fields of a refusal to columns of other names. Without `correct` records are only added.
    At most `most` lines are written at once: each goes through the rules while nobody else can
    write, so that it is fewer where a record takes longer.
    """

    name: str
    table: ExportTable
    columns: tuple[RecordColumn, ...]
    key: str
    needed: tuple[str, ...] = ()
    coded: bool = False
    columns_of: Mapping[str, str] = field(default_factory=dict)
    add: Callable[[Work, Values], object] | None = None
    correct: Callable[[Work, Kept, Values], object] | None = None
    most: int = MOST_WRITTEN

    @property
    def required(self) -> tuple[str, ...]:
        """The columns without which no line can be read."""
        return (self.key,)

    @property
    def unread(self) -> tuple[str, ...]:
        """The columns it is taken out with that say nothing coming in."""
        read = {column.name for column in self.columns}
        return tuple(name for name in self.table.names if name not in read)


@dataclass(frozen=True, kw_only=True)
class MadeNames:
    """Names that would be made with a sheet, by kind."""

    listed: tuple[tuple[str, tuple[str, ...]], ...] = ()


@dataclass(frozen=True, kw_only=True)
class RecordComparison:
    """A sheet beside the log: the state of every line, what is wrong, and what would change.

    `history_length` is how long the history was before, which tells whether the log has changed
    since.
    """

    states: Mapping[int, LineState]
    new_names: MadeNames
    wrong: tuple[LineRemark, ...]
    changes: tuple[LineRemark, ...]
    ignored: tuple[str, ...]
    history_length: int
    reference: str = ""
    minded: tuple[LineRemark, ...] = ()

    @property
    def counts(self) -> Mapping[LineState, int]:
        """How many lines are new, changed, the same and wrong; each state is there."""
        counted = Counter(self.states.values())
        return {state: counted[state] for state in LineState}

    @property
    def to_write(self) -> tuple[int, ...]:
        """The lines that writing would make or correct something by."""
        wanted = {LineState.NEW, LineState.CHANGED}
        return tuple(line for line, state in self.states.items() if state in wanted)


def go_through(
    work: Work, *, kind: SheetKind, sheet: RecordSheet, progress: Progress = str
) -> RecordComparison:
    """Do what every line says, leaving out those that are wrong, and return what that was.

    The caller writes it or rolls it back.
    """
    length = work.session.scalar(select(Meta.history_length)) or 0
    run = _Run(work, kind=kind, kept=_kept(work.session, kind=kind, sheet=sheet))
    states = dict.fromkeys(sheet.numbers, LineState.WRONG)
    wrong, changes = list(sheet.wrong), list[LineRemark]()
    with because_of(work.session, reason=REASON):
        for count, line in enumerate(sheet.lines, start=1):
            outcome = run.take(line)
            states[line.number] = outcome.state
            wrong += outcome.wrong
            changes += outcome.changes
            progress(f"Went through {count:,} of {len(sheet.lines):,} lines.")
    return RecordComparison(
        states=states,
        new_names=MadeNames(
            listed=tuple((name, tuple(names)) for name, names in work.new_names.items())
        ),
        wrong=in_line_order(wrong),
        changes=tuple(changes),
        ignored=sheet.ignored,
        history_length=length,
    )


@dataclass(frozen=True, kw_only=True)
class _Outcome:
    """What one line does to the log."""

    state: LineState
    wrong: Sequence[LineRemark] = ()
    changes: Sequence[LineRemark] = ()


class _Run:
    """One way through a sheet, from the first line to the last."""

    def __init__(self, work: Work, *, kind: SheetKind, kept: Mapping[str, Kept]) -> None:
        self._work = work
        self._kind = kind
        self._kept = kept
        self._seen: dict[str, int] = {}

    def take(self, line: RecordLine) -> _Outcome:
        """Do what a line says and return what that was; nothing is done if it is wrong."""
        key = str(line.values[self._kind.key])
        problem = self._told_twice(key, line=line.number)
        kept = self._kept.get(key.casefold())
        if problem is None and kept is None:
            problem = self._no_new_one(key, values=line.values)
        if problem is not None:
            return self._refused(problem, line=line.number)
        return self._new(line) if kept is None else self._known(line, kept=kept)

    def _told_twice(self, key: str, *, line: int) -> NotAccepted | None:
        before = self._seen.setdefault(key.casefold(), line) if key else line
        if before == line:
            return None
        sentence = f"Line {before} is of {key} already. Say all of it on one line."
        return NotAccepted.at(self._kind.key, sentence)

    def _no_new_one(self, key: str, *, values: Values) -> NotAccepted | None:
        """Return why a line that no record is found for cannot be a new one."""
        kind = self._kind
        if kind.coded and key:
            sentence = f"There is no {key} in the log. Leave the cell blank for a new one."
            return NotAccepted.at(kind.key, sentence)
        if kind.add is None:
            return NotAccepted.at(kind.key, f"There is no {key} in the log, and none is made here.")
        needed = kind.needed if kind.coded else (kind.key, *kind.needed)
        for column in needed:
            if values.get(column) in (None, ""):
                return NotAccepted.at(column, f"A new one needs {column}.")
        return None

    def _new(self, line: RecordLine) -> _Outcome:
        kind = self._kind
        blank = {column.name: column.blank for column in kind.columns}
        said = differing(blank, wanted=line.values, columns=kind.columns)
        said.pop(kind.key, None)
        # What a new record needs may still be fixed from then on.
        others = [column for column in kind.columns if column.name not in kind.needed]
        fixed = list(kept_remarks(line.number, changes=said, columns=others))
        if fixed or kind.add is None:
            return _Outcome(state=LineState.WRONG, wrong=fixed)
        add, values = kind.add, blank | dict(line.values)
        return self._tried(lambda: add(self._work, values), line=line.number, state=LineState.NEW)

    def _known(self, line: RecordLine, *, kept: Kept) -> _Outcome:
        kind = self._kind
        changes = differing(kept.values, wanted=line.values, columns=kind.columns)
        changes.pop(kind.key, None)
        if not changes:
            return _Outcome(state=LineState.SAME)
        fixed = list(kept_remarks(line.number, changes=changes, columns=kind.columns))
        if kind.correct is None and not fixed:
            sentence = "This one is in the log and cannot be changed by a sheet."
            return self._refused(NotAccepted.at(kind.key, sentence), line=line.number)
        if fixed or kind.correct is None:
            return _Outcome(state=LineState.WRONG, wrong=fixed)
        correct = kind.correct
        wanted = {column: after for column, (_, after) in changes.items()}
        return self._tried(
            lambda: correct(self._work, kept, wanted),
            line=line.number,
            state=LineState.CHANGED,
            changes=tuple(change_remarks(line.number, changes=changes)),
        )

    def _tried(
        self,
        do: Callable[[], object],
        *,
        line: int,
        state: LineState,
        changes: Sequence[LineRemark] = (),
    ) -> _Outcome:
        names = {kind: list(known) for kind, known in self._work.new_names.items()}
        try:
            with self._work.session.begin_nested():
                do()
                self._work.session.flush()
        except NotAccepted as refusal:
            self._work.new_names.clear()
            self._work.new_names.update(names)
            return self._refused(refusal, line=line)
        return _Outcome(state=state, changes=changes)

    def _refused(self, refusal: NotAccepted, *, line: int) -> _Outcome:
        remarks = remarks_of(refusal, line=line, columns=self._kind.columns_of)
        return _Outcome(state=LineState.WRONG, wrong=remarks)


def _kept(session: Session, *, kind: SheetKind, sheet: RecordSheet) -> dict[str, Kept]:
    """Return the stored records that the sheet names, by their key folded for comparing."""
    keys = sorted({str(line.values[kind.key]) for line in sheet.lines} - {""})
    return {
        str(values[kind.key]).casefold(): Kept(id=row_id, values=values)
        for row_id, values in read_exported(session, table=kind.table, column=kind.key, keys=keys)
    }
