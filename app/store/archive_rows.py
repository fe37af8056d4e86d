"""Rows of an archive's tables: read in the order of their keys, and loaded into an empty file.

Loading writes what was stored as it was stored: the rules that the database keeps by itself are
put aside for it, and what they would have refused is looked for afterwards.
"""

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any, Final

from app.domain.archives import ArchivedTable
from app.store.archive_tables import LEFT_OUT_COLUMNS

_CHUNK: Final = 500


class RowRefused(Exception):
    """The database did not take a row, or a row points to one that is not there.

    `place` counts the rows of the table from 1.
    """

    def __init__(self, *, table: str, place: int, reason: str) -> None:
        super().__init__(reason)
        self.table = table
        self.place = place


@contextmanager
def reading_file(path: Path) -> Iterator[sqlite3.Connection]:
    """Give a connection that only reads, on a file that nobody else writes."""
    with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as connection:
        yield connection


def iterate_rows(
    connection: sqlite3.Connection, *, table: ArchivedTable
) -> Iterator[tuple[Any, ...]]:
    """Yield the table's rows as they are stored, in the order of its key."""
    columns = ", ".join(map(_quoted, table.names))
    order = ", ".join(map(_quoted, table.key or table.names))
    cursor = connection.execute(f"SELECT {columns} FROM {_quoted(table.name)} ORDER BY {order}")  # noqa: S608 - names from the schema itself
    while rows := cursor.fetchmany(_CHUNK):
        yield from rows


def count_rows(connection: sqlite3.Connection, *, table: ArchivedTable) -> int:
    """Return how many rows the table has."""
    found = connection.execute(f"SELECT COUNT(*) FROM {_quoted(table.name)}")  # noqa: S608 - as above
    return int(found.fetchone()[0])


@contextmanager
def loading_file(path: Path, *, tables: Sequence[ArchivedTable]) -> Iterator[sqlite3.Connection]:
    """Give a connection to load the emptied tables with, rules aside; all of it or nothing.

    Triggers are put back and references looked at before it is committed.

    Raises:
        RowRefused: at the end, if a row points to one that is not there.
    """
    # Nobody else has the file yet, and it is copied into its place with every safe setting.
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA foreign_keys = OFF")
        connection.execute("PRAGMA synchronous = OFF")
        connection.execute("BEGIN IMMEDIATE")
        triggers = _drop_triggers(connection)
        for table in tables:
            connection.execute(f"DELETE FROM {_quoted(table.name)}")  # noqa: S608 - as above
        yield connection
        _refuse_broken(connection)
        for statement in triggers:
            connection.execute(statement)
        connection.execute("COMMIT")


def load_rows(
    connection: sqlite3.Connection, *, table: ArchivedTable, rows: Iterable[tuple[Any, ...]]
) -> int:
    """Put the rows in and return how many there were.

    Raises:
        RowRefused: one breaks a rule of the table, such as a value that must be there.
    """
    given = {
        column: value for (name, column), value in LEFT_OUT_COLUMNS.items() if name == table.name
    }
    columns = ", ".join(map(_quoted, (*table.names, *given)))
    marks = ", ".join("?" * (len(table.names) + len(given)))
    statement = f"INSERT INTO {_quoted(table.name)} ({columns}) VALUES ({marks})"  # noqa: S608 - as above
    more = tuple(given.values())
    place = 0
    for place, row in enumerate(rows, start=1):
        try:
            connection.execute(statement, row + more)
        except sqlite3.Error as error:
            raise RowRefused(table=table.name, place=place, reason=str(error)) from error
    return place


def _drop_triggers(connection: sqlite3.Connection) -> tuple[str, ...]:
    found = connection.execute(
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name"
    ).fetchall()
    for name, _ in found:
        connection.execute(f"DROP TRIGGER {_quoted(name)}")
    return tuple(statement for _, statement in found)


def _refuse_broken(connection: sqlite3.Connection) -> None:
    broken = connection.execute("PRAGMA foreign_key_check").fetchone()
    if broken is None:
        return
    table, row, parent = broken[:3]
    before = connection.execute(f"SELECT COUNT(*) FROM {_quoted(table)} WHERE rowid <= ?", (row,))  # noqa: S608 - as above
    raise RowRefused(
        table=table,
        place=int(before.fetchone()[0]),
        reason=f"it points to a row of {parent} that is not there",
    )


def _quoted(name: str) -> str:
    return f'"{name}"'
