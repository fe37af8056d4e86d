"""Bringing a database file to the shape this program knows, or refusing to touch it.

The revisions run in one transaction, with foreign keys off (SQLite would otherwise delete child
rows when a table is rebuilt) and without triggers (a rebuilt table loses them). Before the
commit every foreign key is checked, no table may have lost a row, and the triggers are made anew.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import Connection, create_engine, event, text
from sqlalchemy.pool import NullPool

from app.store.engine import BUSY_MS, journal_mode
from app.store.triggers import create_triggers

if TYPE_CHECKING:
    from alembic.config import Config

HEAD: Final = "head"
BASE: Final = "base"
_PACKAGE: Final = Path(__file__).resolve().parents[1]


class DatabaseIsNewer(Exception):
    """The database was written by a newer version of the program; it was not touched."""


class NotALog(Exception):
    """The file at the database's place is something else; it was not touched."""


class MigrationFailed(Exception):
    """A revision would have lost rows or broken references; nothing was changed."""


@dataclass(frozen=True, kw_only=True)
class Migration:
    """From which revision to which a file was brought; `before` is None for a new file."""

    before: str | None
    after: str | None

    @property
    def changed(self) -> bool:
        """Whether any revision ran."""
        return self.before != self.after


def migrations_folder() -> Path:
    """Return the folder of revisions: inside the installed package, or beside it in a checkout."""
    inside = _PACKAGE / "_migrations"
    return inside if inside.is_dir() else _PACKAGE.parent / "migrations"


def revisions() -> tuple[str, ...]:
    """Return every revision this program knows, oldest first."""
    from alembic.script import ScriptDirectory  # noqa: PLC0415 - a start without changes is quicker

    known = ScriptDirectory.from_config(_config()).walk_revisions()
    return tuple(reversed([script.revision for script in known]))


def revision_of(path: Path) -> str | None:
    """Return the revision a database file stands at, or None for a missing or empty file.

    Raises:
        NotALog: the file is no database, or another program's.
    """
    if not path.is_file() or path.stat().st_size == 0:
        return None
    try:
        with closing(
            sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
        ) as connection:
            tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_master")}
            if not tables:
                return None
            row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    except sqlite3.DatabaseError as error:
        raise NotALog(f"{path} is not a log of Strikewell, or it is damaged: {error}.") from error
    return None if row is None else str(row[0])


def needs_migration(path: Path) -> bool:
    """Return whether the file is missing, empty or older than this program.

    Raises:
        DatabaseIsNewer: the file is of a revision this program does not know.
    """
    present, known = revision_of(path), revisions()
    if present is not None and present not in known:
        raise DatabaseIsNewer(
            "This log was written by a newer version of Strikewell. Nothing was changed. "
            "Install that version, or restore an older backup into another folder."
        )
    return present != known[-1]


def migrate(path: Path, *, revision: str = HEAD) -> Migration:
    """Bring the file to the revision and return what was done; all of it or nothing.

    `revision` may also be an older one, or "base" for none. A backup of the file is the
    caller's to make before.

    Raises:
        DatabaseIsNewer: the file is of a revision this program does not know.
        MigrationFailed: rows would have been lost or references broken.
    """
    before = revision_of(path)
    if not needs_migration(path) and revision == HEAD:
        return Migration(before=before, after=before)
    known = revisions()
    wanted = known[-1] if revision == HEAD else revision
    with _one_transaction(path) as connection:
        counted = _row_counts(connection)
        _drop_triggers(connection)
        _run(connection, _direction(known, before=before, wanted=wanted), wanted)
        _refuse_losses(connection, counted)
        if wanted == known[-1]:
            create_triggers(connection)
    return Migration(before=before, after=revision_of(path))


def _direction(known: tuple[str, ...], *, before: str | None, wanted: str) -> str:
    order = {None: 0, BASE: 0} | {name: place for place, name in enumerate(known, start=1)}
    return "upgrade" if order[wanted] >= order[before] else "downgrade"


def _run(connection: Connection, direction: str, wanted: str) -> None:
    from alembic import command  # noqa: PLC0415 - as above

    config = _config()
    config.attributes["connection"] = connection
    run = command.upgrade if direction == "upgrade" else command.downgrade
    run(config, wanted)


def _config() -> "Config":
    from alembic.config import Config  # noqa: PLC0415 - as above

    config = Config()
    config.set_main_option("script_location", str(migrations_folder()).replace("%", "%%"))
    return config


@contextmanager
def _one_transaction(path: Path) -> Iterator[Connection]:
    engine = create_engine(
        f"sqlite:///{path}", poolclass=NullPool, connect_args={"timeout": BUSY_MS / 1000}
    )

    @event.listens_for(engine, "connect")
    def connect(connection: sqlite3.Connection, _record: Any) -> None:
        connection.isolation_level = None
        connection.execute(f"PRAGMA journal_mode = {journal_mode()}")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = OFF")

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    with engine.begin() as connection:
        yield connection


def _row_counts(connection: Connection) -> dict[str, int]:
    tables = connection.execute(
        text(
            "SELECT name FROM sqlite_master WHERE type = 'table' "
            "AND name NOT LIKE 'sqlite_%' AND name <> 'alembic_version'"
        )
    ).scalars()
    return {
        table: connection.execute(text(f'SELECT COUNT(*) FROM "{table}"')).scalar_one()  # noqa: S608 - names from the schema itself
        for table in tables.all()
    }


def _drop_triggers(connection: Connection) -> None:
    names = connection.execute(text("SELECT name FROM sqlite_master WHERE type = 'trigger'"))
    for name in names.scalars().all():
        connection.execute(text(f'DROP TRIGGER "{name}"'))


def _refuse_losses(connection: Connection, before: dict[str, int]) -> None:
    after = _row_counts(connection)
    shrunk = sorted(table for table in before if table in after and after[table] < before[table])
    if shrunk:
        raise MigrationFailed(f"Rows of {', '.join(shrunk)} would have been lost.")
    broken = connection.execute(text("PRAGMA foreign_key_check")).all()
    if broken:
        tables = ", ".join(sorted({str(row[0]) for row in broken}))
        raise MigrationFailed(f"References in {tables} would have been broken.")
