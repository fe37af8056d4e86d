"""The SQLite engine: how the file is journalled, and how a transaction begins.

SQLite's WAL mode can lose or corrupt data with two or more connections in versions 3.7.0 to
3.51.2 (mended in 3.51.3, 3.50.7 and 3.44.6), so the journal is chosen by the library's version.
"""

import sqlite3
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.pool import ConnectionPoolEntry

from app.store.fair_lock import FairLock

BUSY_MS: Final = 10_000
WRITES: Final = "strikewell_writes"
READS: Final = "strikewell_reads"
_HOLDS: Final = "strikewell_holds_lock"
_MENDED: Final = ((3, 44, 6), (3, 50, 7))
_MENDED_FOR_GOOD: Final = (3, 51, 3)


class UnsafeDatabase(Exception):
    """The database did not take a setting without which saved entries could be lost."""


def journal_mode(version: tuple[int, int, int] = sqlite3.sqlite_version_info[:3]) -> str:
    """Return "WAL" where this SQLite version's WAL is sound, else "TRUNCATE"."""
    if version >= _MENDED_FOR_GOOD:
        return "WAL"
    sound = any(version[:2] == mended[:2] and version >= mended for mended in _MENDED)
    return "WAL" if sound else "TRUNCATE"


def make_engine(path: Path, *, lock: FairLock, journal: str | None = None) -> Engine:
    """Return an engine on the file; each new connection is set up and read back.

    Transactions begin plainly for reading and IMMEDIATE, behind the fair lock, on a connection
    with the execution option `WRITES`; with `READS` the connection refuses to write at all.
    `journal` overrides the choice by version, for tests.

    Raises:
        UnsafeDatabase: on connecting, if a setting did not hold.
    """
    engine = create_engine(
        f"sqlite:///{path}",
        connect_args={"timeout": BUSY_MS / 1000, "check_same_thread": False},
        # Errors go into the program's log; names and hashes do not.
        hide_parameters=True,
    )
    wanted = journal or journal_mode()

    @event.listens_for(engine, "connect")
    def connect(connection: sqlite3.Connection, _record: ConnectionPoolEntry) -> None:
        # The driver's own BEGIN comes too late and is not IMMEDIATE: we begin ourselves.
        connection.isolation_level = None
        _set_and_read_back(connection, wanted)

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        options = connection.get_execution_options()
        # The connection is pooled, so each transaction says anew whether it may write.
        connection.exec_driver_sql(f"PRAGMA query_only = {1 if options.get(READS) else 0}")
        if options.get(WRITES):
            lock.acquire()
            connection.info[_HOLDS] = True
            try:
                connection.exec_driver_sql("BEGIN IMMEDIATE")
            except BaseException:
                _let_go(connection.info, lock)
                raise
        else:
            connection.exec_driver_sql("BEGIN")

    @event.listens_for(engine, "rollback")
    def rolled_back(connection: Connection) -> None:
        _let_go_after(connection, lock, "ROLLBACK")

    @event.listens_for(engine, "commit")
    def committed(connection: Connection) -> None:
        _let_go_after(connection, lock, "COMMIT")

    @event.listens_for(engine, "checkin")
    def returned(_connection: Any, record: ConnectionPoolEntry) -> None:
        # A connection that comes back without an end of its transaction must not keep the lock.
        _let_go(record.info, lock)

    return engine


def _let_go_after(connection: Connection, lock: FairLock, statement: str) -> None:
    """End the transaction now, then let the next writer in; the driver's own end is then idle."""
    driver = connection.connection.driver_connection
    if connection.info.get(_HOLDS) and driver is not None:
        if driver.in_transaction:
            driver.execute(statement)
        _let_go(connection.info, lock)


def _let_go(info: dict[Any, Any], lock: FairLock) -> None:
    if info.pop(_HOLDS, False):
        lock.release()


def _set_and_read_back(connection: sqlite3.Connection, journal: str) -> None:
    got = connection.execute(f"PRAGMA journal_mode = {journal}").fetchone()[0]
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")
    # What is erased about a person leaves no trace in the file; not every build has this on.
    connection.execute("PRAGMA secure_delete = ON")
    synchronous = connection.execute("PRAGMA synchronous").fetchone()[0]
    foreign_keys = connection.execute("PRAGMA foreign_keys").fetchone()[0]
    if (str(got).upper(), synchronous, foreign_keys) != (journal, 2, 1):
        raise UnsafeDatabase(
            f"The database would not take its safe settings (journal {got}, synchronous "
            f"{synchronous}, foreign keys {foreign_keys}). Nothing was opened."
        )
