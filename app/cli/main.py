"""The command `strikewell`: reads the command line, runs one command, says what went wrong."""

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final, Protocol, TextIO, TypeAlias

from sqlalchemy.exc import OperationalError

from app.cli import (
    archives,
    backups,
    demo,
    due,
    exports,
    imports,
    labels,
    people,
    plan,
    rates,
    serve,
    stick,
    trace,
    verifying,
)
from app.cli.context import CommandRefused, Context
from app.clock import Clock, SystemClock
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotAllowed, NotFound
from app.formats.archive_sheets import NotCarried
from app.settings import default_data_folder, read_settings
from app.store.backups import BackupUnsound
from app.store.engine import UnsafeDatabase
from app.store.fair_lock import TooBusy
from app.store.folder_lock import FolderInUse
from app.store.migrating import DatabaseIsNewer, MigrationFailed, NotALog

Parsers: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


class Command(Protocol):
    """What a module of this folder offers to be a command, or several."""

    def add_parser(self, commands: Parsers, /) -> object:
        """Add the words of its commands."""
        ...

    def run(self, args: argparse.Namespace, context: Context, /) -> int:
        """Carry out the one named by `args.command` and return the exit code."""
        ...


COMMANDS: Final[tuple[Command, ...]] = (
    serve,
    demo,
    backups,
    archives,
    due,
    people,
    verifying,
    imports,
    exports,
    labels,
    plan,
    rates,
    stick,
    trace,
)
_REFUSALS: Final = (
    BackupUnsound,
    ChangedMeanwhile,
    CommandRefused,
    DatabaseIsNewer,
    FolderInUse,
    MigrationFailed,
    NotALog,
    NotAccepted,
    NotAllowed,
    NotCarried,
    NotFound,
    TooBusy,
    UnsafeDatabase,
    OSError,
    OperationalError,
    KeyboardInterrupt,
)


def build_parser() -> argparse.ArgumentParser:
    """Return the reader of the command line with every command in it."""
    parser = argparse.ArgumentParser(
        prog="strikewell", description="The log of a propagation unit.", allow_abbrev=False
    )
    parser.add_argument(
        "--data",
        type=Path,
        metavar="FOLDER",
        help=f"where the log lies (default: STRIKEWELL_DATA, else {default_data_folder()})",
    )
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for module in COMMANDS:
        before = set(commands.choices)
        module.add_parser(commands)
        for name in set(commands.choices) - before:
            commands.choices[name].set_defaults(run=module.run)
    return parser


def main(
    words: Sequence[str] | None = None,
    *,
    clock: Clock | None = None,
    out: TextIO | None = None,
    err: TextIO | None = None,
) -> int:
    """Run the command line and return the exit code.

    0 all went well, 1 refused with a sentence on standard error, 2 wrong usage.
    """
    # Threads of the arithmetic would wait for each other on a small PC; set before it is loaded.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        args = build_parser().parse_args(words)
    except SystemExit as stop:
        return int(stop.code or 0)
    told = err or sys.stderr
    try:
        settings = read_settings(args.data or vars(args).get("default_folder"))
        context = Context(
            settings=settings, clock=clock or SystemClock(), out=out or sys.stdout, err=told
        )
        return int(args.run(args, context))
    except BrokenPipeError:
        # Whoever reads our output has seen enough; Python's own last flush must not fail.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except _REFUSALS as refusal:
        print(_sentence(refusal), file=told)
        return 1


def _sentence(refusal: BaseException) -> str:
    if isinstance(refusal, KeyboardInterrupt):
        return "Stopped."
    if isinstance(refusal, OperationalError):
        return f"The log could not be read or written: {refusal.orig}."
    if isinstance(refusal, OSError) and refusal.filename:
        return f"{refusal.filename}: {refusal.strerror}."
    return str(refusal)
