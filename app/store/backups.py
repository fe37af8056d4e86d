"""Copies of the database file: made while others write, proved sound, and put back."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from tempfile import TemporaryDirectory, mkstemp
from typing import Final

from app.settings import FOLDER_MODE

BUSY_S: Final = 10.0
_BESIDES: Final = ("-journal", "-wal", "-shm")
_FIRST_BYTES: Final = b"SQLite format 3\x00"


class BackupUnsound(Exception):
    """A file that is not a whole, sound log; it was not kept or not taken."""


def copy_database(source: Path, *, target: Path) -> None:
    """Copy a database that may be in use to `target`, which appears only when whole and sound.

    The copy is one picture of one moment. It is checked and on disk before it gets its name; a
    file of that name is replaced.

    Raises:
        BackupUnsound: the source is missing, there is no room, or the copy fails SQLite's own
            integrity check.
    """
    if not source.is_file():
        raise BackupUnsound(f"There is no log at {source} yet.")
    with _beside(target) as part:
        _copy(source, part)
        check_sound(part)
        _put_in_place(part, target)


@contextmanager
def scratch_copy(source: Path) -> Iterator[Path]:
    """Give a copy of a database that may be in use, to try something on; it goes with the block."""
    with TemporaryDirectory() as folder:
        copy = Path(folder) / "scratch.db"
        _copy(source, copy)
        yield copy


def check_sound(path: Path) -> None:
    """Raise unless the file is a sound SQLite database.

    Raises:
        BackupUnsound: it is missing, of another kind, cut short or damaged.
    """
    if not path.is_file():
        raise BackupUnsound(f"There is no file {path}.")
    with path.open("rb") as file:
        if file.read(len(_FIRST_BYTES)) != _FIRST_BYTES:
            raise BackupUnsound(f"{path} is not a backup of Strikewell.")
    try:
        with closing(_open(path)) as connection:
            found = [str(row[0]) for row in connection.execute("PRAGMA integrity_check")]
    except sqlite3.DatabaseError as error:
        raise BackupUnsound(f"{path} is damaged: {error}.") from error
    if found != ["ok"]:
        raise BackupUnsound(f"{path} is damaged: {found[0]}.")


def replace_database(path: Path, *, by: Path, aside: Path) -> None:
    """Put a copy of the file `by` in the place of the database, which is moved to `aside`.

    Nobody may have the database open. The database moved away may be damaged: it is moved as it
    is, with the journals that belong to it.

    Raises:
        BackupUnsound: `by` is not sound; nothing was changed.
    """
    check_sound(by)
    with _beside(path) as part:
        _copy(by, part)
        check_sound(part)
        _move_away(path, aside)
        _put_in_place(part, path)


def _copy(source: Path, part: Path) -> None:
    try:
        with closing(_open(source)) as origin, closing(sqlite3.connect(part)) as copy:
            origin.backup(copy)
            # A copy is one file: a journal of its own beside it could be left behind.
            copy.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.Error as error:
        raise BackupUnsound(f"{source} could not be copied to {part.parent}: {error}.") from error


def _move_away(path: Path, aside: Path) -> None:
    if not path.is_file():
        return
    with suppress(sqlite3.DatabaseError), closing(sqlite3.connect(path, timeout=BUSY_S)) as old:
        # Brings what still stands in a journal into the file itself, if it can be read at all.
        old.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    aside.parent.mkdir(mode=FOLDER_MODE, parents=True, exist_ok=True)
    # The database last: without its journals it must not stand under its own name.
    for ending in (*_BESIDES, ""):
        part = path.with_name(path.name + ending)
        if part.is_file():
            part.replace(aside.with_name(aside.name + ending))


def _open(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(path, timeout=BUSY_S)
    connection.execute("PRAGMA query_only = ON")
    return connection


@contextmanager
def _beside(target: Path) -> Iterator[Path]:
    """Give a file in the making in the target's folder; what is left of it is removed."""
    target.parent.mkdir(mode=FOLDER_MODE, parents=True, exist_ok=True)
    descriptor, name = mkstemp(prefix=f".{target.name}.", suffix=".part", dir=target.parent)
    os.close(descriptor)
    part = Path(name)
    try:
        yield part
    finally:
        for ending in ("", *_BESIDES):
            part.with_name(part.name + ending).unlink(missing_ok=True)


def _put_in_place(part: Path, target: Path) -> None:
    _to_disk(part, os.O_RDWR)
    part.replace(target)
    if os.name == "posix":
        # The new name itself has to reach the disk; Windows has no way to ask for that.
        _to_disk(target.parent, os.O_RDONLY)


def _to_disk(path: Path, flags: int) -> None:
    descriptor = os.open(path, flags)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
