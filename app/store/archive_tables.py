"""Which tables and columns an archive carries, read from the database file itself.

The file tells its own shape, so that an archive of an older program is read back at its own
revision and brought up to date afterwards, and a table that somebody adds is carried by itself.
"""

import sqlite3
from collections.abc import Mapping
from typing import Final

from app.domain.archives import ArchivedColumn, ArchivedTable, CellKind, Reference

# A name stays in this list when its table is gone: archives of older programs have it.
LEFT_OUT: Final[Mapping[str, str]] = {
    "alembic_version": "it says which program wrote the log; the archive says so itself",
    "sessions": "sign-ins end with the log they began in",
    "one_time_codes": "a code is for one log and one hour",
    "sign_in_events": "they slow down guessing at one log's door",
    "posted_forms": "they keep one program from saving the same form twice",
    "import_stages": "sheets that wait to be looked over are not yet part of the log",
    "import_stage_lines": "they belong to sheets that wait to be looked over",
}
# What stands in a column that is left out, once the log is read back.
LEFT_OUT_COLUMNS: Final[Mapping[tuple[str, str], str]] = {("accounts", "password_hash"): ""}
_KINDS: Final = {
    "INTEGER": CellKind.INTEGER,
    "DOUBLE": CellKind.NUMBER,
    "FLOAT": CellKind.NUMBER,
    "VARCHAR": CellKind.TEXT,
    "TEXT": CellKind.TEXT,
    "BOOLEAN": CellKind.FLAG,
    "DATE": CellKind.DATE,
    "DATETIME": CellKind.INSTANT,
    "JSON": CellKind.JSON,
    "BLOB": CellKind.BYTES,
}


def list_tables(connection: sqlite3.Connection) -> tuple[ArchivedTable, ...]:
    """Return every table that is carried, by name."""
    names = connection.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite\\_%' "
        "ESCAPE '\\' ORDER BY name"
    )
    return tuple(_table(connection, name) for (name,) in names.fetchall() if name not in LEFT_OUT)


def _table(connection: sqlite3.Connection, name: str) -> ArchivedTable:
    rows = connection.execute(
        'SELECT name, type, "notnull", pk FROM pragma_table_info(?)', (name,)
    ).fetchall()
    keyed = sorted((place, column) for column, _, _, place in rows if place)
    return ArchivedTable(
        name=name,
        columns=tuple(
            ArchivedColumn(name=column, kind=_KINDS[kind.partition("(")[0]], required=bool(needed))
            for column, kind, needed, _ in rows
            if (name, column) not in LEFT_OUT_COLUMNS
        ),
        key=tuple(column for _, column in keyed),
        unique=_unique(connection, name),
        references=_references(connection, name),
    )


def _unique(connection: sqlite3.Connection, name: str) -> tuple[tuple[str, ...], ...]:
    """Return the columns of each UNIQUE constraint; partial indexes say less and stay out."""
    found = connection.execute(
        "SELECT name FROM pragma_index_list(?) WHERE origin = 'u' AND partial = 0", (name,)
    )
    columns = (
        connection.execute(
            "SELECT name FROM pragma_index_info(?) ORDER BY seqno", (index,)
        ).fetchall()
        for (index,) in found.fetchall()
    )
    return tuple(sorted(tuple(str(row[0]) for row in rows) for rows in columns))


def _references(connection: sqlite3.Connection, name: str) -> tuple[Reference, ...]:
    rows = connection.execute(
        'SELECT id, "table", "from", "to" FROM pragma_foreign_key_list(?) ORDER BY id, seq', (name,)
    ).fetchall()
    by_number: dict[int, list[tuple[str, str, str]]] = {}
    for number, table, column, target in rows:
        by_number.setdefault(number, []).append((table, column, target))
    return tuple(
        sorted(
            (
                Reference(
                    columns=tuple(column for _, column, _ in pairs),
                    table=pairs[0][0],
                    targets=tuple(target for _, _, target in pairs),
                )
                for pairs in by_number.values()
            ),
            key=lambda reference: reference.columns,
        )
    )
