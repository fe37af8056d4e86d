"""The command `import`: reads a sheet in, says line by line what is wrong, then writes it all."""

import argparse
import hashlib
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from itertools import islice
from pathlib import Path
from typing import Final

from sqlalchemy.orm import Session

from app.cli.context import CommandRefused, Context
from app.cli.progress import Progress
from app.clock import local_date
from app.domain.notebook import LineRemark
from app.domain.notebook_comparison import LineState
from app.domain.people import Actor, name_key
from app.domain.permissions import Permission, allowed
from app.domain.problems import NotAllowed
from app.domain.sheet_lines import SheetLine
from app.formats.sheets import COMMAND_ROWS, read_sheet
from app.services.import_stages import (
    NOTEBOOK,
    StagedFile,
    StageState,
    add_stage_lines,
    finish_stage,
    make_stage,
)
from app.services.notebook_imports import notebook_name
from app.services.notebook_stages import (
    SheetComparison,
    counts_words,
    remark_words,
    staged_lines,
    summary_of,
)
from app.services.notebook_writing import LogChanged
from app.services.sheet_imports import SheetImport, Writer, open_import
from app.services.sheet_kinds import IMPORT_KINDS, kind_of_header
from app.store.queries.accounts import find_account_by_name
from app.store.queries.nursery import get_nursery
from app.store.session import Database

FILE_BYTES: Final = 64 * 1024 * 1024
_SAID_WRONG: Final = 200
_SAID_MINDED: Final = 50
_STAGE_CHUNK: Final = 2_000
_ATTEMPTS: Final = 2


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add `import FILE [--kind KIND] [--check-only] [--skip-wrong] [--as PERSON]`."""
    parser = commands.add_parser("import", help="read a sheet in, a .csv or .xlsx file")
    parser.add_argument("file", type=Path, metavar="FILE", help="the sheet")
    parser.add_argument(
        "--kind", choices=IMPORT_KINDS, help="what the sheet holds (default: told by its header)"
    )
    parser.add_argument(
        "--check-only", action="store_true", help="say what would be written and what is wrong"
    )
    parser.add_argument(
        "--skip-wrong", action="store_true", help="leave wrong lines out and write the others"
    )
    parser.add_argument(
        "--as", dest="person", metavar="PERSON", help="who is named in the log as having done it"
    )


def run(args: argparse.Namespace, context: Context) -> int:
    """Read the sheet in and say what was written.

    Raises:
        CommandRefused: lines are wrong and are not to be left out, or nobody of that name signs
            in.
        NotAccepted: the file is no sheet that can be read.
        NotAllowed: the person named does not read sheets in.
    """
    data = _read(args.file)
    database = context.open_database()
    try:
        return _Import(args, context, database).run(data)
    finally:
        database.close()


@dataclass(frozen=True, kw_only=True)
class _Sheet:
    """The sheet of one run: its file, the lines as they were read, and as they were understood."""

    kind: str
    file: StagedFile
    lines: tuple[SheetLine, ...]
    reading: SheetImport


class _Import:
    """One run of the command on one file."""

    def __init__(self, args: argparse.Namespace, context: Context, database: Database) -> None:
        self._args = args
        self._context = context
        self._database = database
        self._progress = Progress(context.remark)
        self._now = context.clock.now()
        self._longest_s = 0.0

    def run(self, data: bytes) -> int:
        """Read, compare, say, and write unless something is in the way."""
        actor, today = self._person_and_day()
        writer = Writer(actor=actor, today=today, now=self._now, skip_wrong=self._args.skip_wrong)
        sheet = self._sheet(data, today=today)
        comparison = self._compare(sheet, writer=writer)
        self._say(comparison)
        wrong = comparison.counts[LineState.WRONG]
        if wrong and not self._args.skip_wrong:
            raise CommandRefused(_refusal(wrong))
        if self._args.check_only:
            self._context.say("Nothing was written, as asked.")
        elif not comparison.to_write:
            self._context.say("Nothing to write: the log says the same.")
        else:
            self._write(sheet, comparison=comparison, writer=writer)
        return 0

    def _person_and_day(self) -> tuple[Actor | None, date]:
        with self._database.reading() as session:
            today = local_date(self._now, zone=get_nursery(session).zone)
            if self._args.person is None:
                return None, today
            account = find_account_by_name(session, name_key=name_key(self._args.person))
        if account is None:
            raise CommandRefused(f'Nobody called "{self._args.person}" signs in here.')
        if not allowed(account.actor.role, Permission.IMPORT):
            sentence = f"{account.actor.name} does not read sheets in. Name a head propagator."
            raise NotAllowed(sentence)
        return account.actor, today

    def _sheet(self, data: bytes, *, today: date) -> _Sheet:
        name = self._args.file.name
        rows = read_sheet(data, filename=name, row_limit=COMMAND_ROWS)
        lines = tuple(self._counted(rows))
        file = StagedFile(
            name=name,
            sha256=hashlib.sha256(data).hexdigest(),
            reference=notebook_name(name),
            header=lines[0].cells,
        )
        kind = self._args.kind or kind_of_header(file.header)
        reading = open_import(kind, lines=self._told(lines), reference=file.reference, today=today)
        return _Sheet(kind=kind, file=file, lines=lines, reading=reading)

    def _counted(self, rows: Iterable[SheetLine]) -> Iterator[SheetLine]:
        for number, row in enumerate(rows):
            self._progress(f"Opened {number:,} lines.")
            yield row

    def _told(self, lines: Sequence[SheetLine]) -> Iterator[SheetLine]:
        for number, line in enumerate(lines):
            self._progress(f"Read {number:,} of {len(lines) - 1:,} lines.")
            yield line

    def _compare(self, sheet: _Sheet, *, writer: Writer) -> SheetComparison:
        return sheet.reading.compare(self._database, writer=writer, progress=self._progress)

    def _say(self, comparison: SheetComparison) -> None:
        self._say_remarks("Wrong:", comparison.wrong, most=_SAID_WRONG)
        self._say_remarks("Changed:", comparison.changes, most=_SAID_MINDED)
        self._say_remarks("Taken, but look at them:", comparison.minded, most=_SAID_MINDED)
        for kind, names in comparison.new_names.listed:
            self._context.say(f"New {kind}: {'; '.join(names)}.")
        if comparison.ignored:
            self._context.say(f"Columns not read: {', '.join(comparison.ignored)}.")
        self._context.say(counts_words(comparison))

    def _say_remarks(self, title: str, remarks: Sequence[LineRemark], *, most: int) -> None:
        if remarks:
            self._context.say(title)
        for remark in remarks[:most]:
            self._context.say(f"  {remark_words(remark)}")
        if len(remarks) > most:
            self._context.say(f"  and {len(remarks) - most:,} more.")

    def _write(self, sheet: _Sheet, *, comparison: SheetComparison, writer: Writer) -> None:
        stage_id = self._stage(sheet, comparison=comparison, actor=writer.actor)
        what = "batches" if sheet.kind == NOTEBOOK else "records"
        self._progress(f"Writing {len(comparison.to_write):,} {what} in one go.")
        outcome = self._written(sheet, writer=writer)
        with self._timed_writing() as session:
            finish_stage(
                session,
                stage_id=stage_id,
                now=self._now,
                state=StageState.WRITTEN,
                outcome={"outcome": outcome},
            )
        self._context.say(outcome)
        self._context.say(f"Others waited at most {self._longest_s:.1f} s to write.")

    def _written(self, sheet: _Sheet, *, writer: Writer) -> str:
        """Write what the comparison found, comparing anew when others were quicker."""
        for _ in range(_ATTEMPTS):
            try:
                with self._timed_writing() as session:
                    return sheet.reading.write(session, writer=writer)
            except LogChanged:
                self._context.remark("The log was changed meanwhile; comparing once more.")
                self._compare(sheet, writer=writer)
        with self._timed_writing() as session:
            # From here on nobody else can change the log.
            return sheet.reading.write_anew(session, writer=writer)

    def _stage(self, sheet: _Sheet, *, comparison: SheetComparison, actor: Actor | None) -> int:
        with self._timed_writing() as session:
            stage_id = make_stage(
                session,
                actor=actor,
                now=self._now,
                file=sheet.file,
                summary=summary_of(comparison),
                kind=sheet.kind,
            )
        staged = staged_lines(sheet.lines, comparison=comparison)
        kept = 0
        while chunk := list(islice(staged, _STAGE_CHUNK)):
            with self._timed_writing() as session:
                add_stage_lines(session, stage_id=stage_id, lines=chunk)
            kept += len(chunk)
            self._progress(f"Set {kept:,} lines ready.")
        return stage_id

    @contextmanager
    def _timed_writing(self) -> Iterator[Session]:
        """Give a session for writing, and remember how long the longest held the log."""
        begun = time.monotonic()
        with self._database.writing() as session:
            yield session
        self._longest_s = max(self._longest_s, time.monotonic() - begun)


def _read(path: Path) -> bytes:
    if path.stat().st_size > FILE_BYTES:
        raise CommandRefused(f"{path} is larger than 64 MB. Split it into several sheets.")
    return path.read_bytes()


def _refusal(wrong: int) -> str:
    lines = "1 line is" if wrong == 1 else f"{wrong:,} lines are"
    return f"Nothing was written: {lines} wrong. Mend them, or leave them out with --skip-wrong."
