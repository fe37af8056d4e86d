"""Reading any sheet in: looked over first, then written in one go; a notebook or records."""

from collections.abc import Iterable
from contextlib import nullcontext
from dataclasses import dataclass
from datetime import date, datetime
from typing import Protocol

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.notebook import NotebookSheet
from app.domain.notebook_batches import read_notebook
from app.domain.notebook_comparison import LineState
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.domain.record_sheets import RecordSheet, read_records
from app.domain.sheet_lines import SheetLine
from app.services.import_stages import NOTEBOOK
from app.services.notebook_imports import NotebookComparison, Progress, compare_notebook
from app.services.notebook_stages import SheetComparison, outcome_words, record_words
from app.services.notebook_writing import LogChanged, write_notebook
from app.services.record_sheets import RecordComparison, SheetKind, Work, go_through
from app.services.sheet_kinds import SHEET_KINDS
from app.store.backups import scratch_copy
from app.store.models.meta import Meta
from app.store.session import Database


@dataclass(frozen=True, kw_only=True)
class Writer:
    """Who writes a sheet, when, and whether wrong lines are left out."""

    actor: Actor | None
    today: date
    now: datetime
    skip_wrong: bool = False


class SheetImport(Protocol):
    """A sheet on its way in."""

    def compare(self, database: Database, *, writer: Writer, progress: Progress) -> SheetComparison:
        """Lay it beside the log and return what writing it would do."""
        ...

    def write(self, session: Session, *, writer: Writer) -> str:
        """Write what was found by `compare` and return in words what that was.

        Raises:
            LogChanged: the log has changed since; nothing was written.
            NotAccepted: lines are wrong and are not to be left out, or there are too many.
        """
        ...

    def write_anew(self, session: Session, *, writer: Writer) -> str:
        """Compare while nobody else can write, write, and return in words what that was.

        Raises:
            NotAccepted: as `write`.
        """
        ...


def open_import(
    kind: str, *, lines: Iterable[SheetLine], reference: str, today: date
) -> SheetImport:
    """Return the sheet of this kind, read line by line; `reference` is a notebook's name.

    Raises:
        NotAccepted: its header lacks a column, has one twice, or one that is nearly right.
    """
    if kind == NOTEBOOK:
        return _NotebookImport(read_notebook(lines, today=today), reference=reference)
    known = SHEET_KINDS[kind]
    sheet = read_records(
        lines,
        columns=known.columns,
        unread=known.unread,
        required=known.required,
        sheet=f"a sheet of {kind.replace('-', ' ')}",
    )
    return _RecordImport(sheet, kind=known)


class _NotebookImport:
    """A notebook's sheet."""

    def __init__(self, sheet: NotebookSheet, *, reference: str) -> None:
        self._sheet = sheet
        self._reference = reference
        self._found: NotebookComparison | None = None

    def compare(self, database: Database, *, writer: Writer, progress: Progress) -> SheetComparison:  # noqa: ARG002 - records want to know who writes
        """Lay it beside the log in short reads."""
        self._found = compare_notebook(
            database.reading, sheet=self._sheet, reference=self._reference, progress=progress
        )
        return self._found

    def write(self, session: Session, *, writer: Writer) -> str:
        """Write what was found."""
        if self._found is None:
            return self.write_anew(session, writer=writer)
        written = write_notebook(
            session,
            actor=writer.actor,
            today=writer.today,
            now=writer.now,
            comparison=self._found,
            skip_wrong=writer.skip_wrong,
        )
        return outcome_words(written)

    def write_anew(self, session: Session, *, writer: Writer) -> str:
        """Compare in the writing session, and write."""
        self._found = compare_notebook(
            lambda: nullcontext(session),
            sheet=self._sheet,
            reference=self._reference,
            progress=_quiet,
        )
        return self.write(session, writer=writer)


class _RecordImport:
    """A sheet of records."""

    def __init__(self, sheet: RecordSheet, *, kind: SheetKind) -> None:
        self._sheet = sheet
        self._kind = kind
        self._found: RecordComparison | None = None

    def compare(self, database: Database, *, writer: Writer, progress: Progress) -> SheetComparison:
        """Do what it says on a copy of the log."""
        with scratch_copy(database.path) as copy:
            scratch = Database(copy)
            try:
                with scratch.writing() as session:
                    self._found = self._go_through(session, writer=writer, progress=progress)
            finally:
                scratch.close()
        return self._found

    def write(self, session: Session, *, writer: Writer) -> str:
        """Write what was looked over, unless the log has changed since."""
        now = session.scalar(select(Meta.history_length))
        if self._found is not None and self._found.history_length != now:
            raise LogChanged.at("", "The log was changed meanwhile. Look the sheet over again.")
        return self.write_anew(session, writer=writer)

    def write_anew(self, session: Session, *, writer: Writer) -> str:
        """Write what it says to the log as it is now."""
        if self._found is not None:
            _refuse_too_many(self._found, most=self._kind.most)
        found = self._go_through(session, writer=writer, progress=_quiet)
        _refuse_too_many(found, most=self._kind.most)
        wrong = found.counts[LineState.WRONG]
        if wrong and not writer.skip_wrong:
            told = "1 line is" if wrong == 1 else f"{wrong:,} lines are"
            sentence = f"Nothing was written: {told} wrong. Mend them, or leave them out."
            raise NotAccepted.at("", sentence)
        return record_words(found)

    def _go_through(
        self, session: Session, *, writer: Writer, progress: Progress
    ) -> RecordComparison:
        work = Work(session=session, actor=writer.actor, today=writer.today, now=writer.now)
        return go_through(work, kind=self._kind, sheet=self._sheet, progress=progress)


def _refuse_too_many(found: RecordComparison, *, most: int) -> None:
    if len(found.to_write) > most:
        raise NotAccepted.at(
            "",
            f"{len(found.to_write):,} lines are new or changed, more than {most:,}. Split the "
            "sheet, so that nobody waits long to write.",
        )


def _quiet(_sentence: str) -> None:
    """Say nothing: nobody reads on while the log is held."""
