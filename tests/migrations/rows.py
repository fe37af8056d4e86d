"""One row in every table of a database at whatever revision, built from its own schema."""

import re
import sqlite3
from contextlib import closing
from pathlib import Path

Row = dict[str, object]

# What a column's type and a list of allowed words do not tell.
SPECIAL: dict[str, Row] = {
    "batch_facts": {"lost": 0, "dumped": 0, "cleared_unrooted": 0, "unrooted": 0},
    "batch_sources": {"stock_plant_id": 1},
    "bench_stays": {"batch_id": 1},
    "dispatch_lines": {"made": "[]"},
    "hold_items": {"batch_id": 1},
    "holds": {"batch_id": 1},
    "check_versions": {"ended": 0},
    "checks": {"ended": 0},
    "hormones": {"ppm": 1000},
    "liner_facts": {"taken": 0, "ready": 0, "lost": 0, "growing": 0},
    "liner_lots": {"batch_id": 1},
    "liner_stages": {"liner_lot_id": 1, "stage": "lost", "number": 1},
    "orders": {"plant_name_id": 1, "sure_share": 0.9},
    "plant_passports": {"void_reason": ""},
    "waited_entries": {"check_id": 1},
    "photographs": {"check_id": 1, "sha256": "a" * 64, "small_sha256": "b" * 64},
}
_BY_TYPE = {
    "BLOB": b"bytes",
    "BOOLEAN": 1,
    "DATE": "2026-03-01",
    "DATETIME": "2026-03-01 08:00:00.000000",
    "DOUBLE": 0.5,
    "FLOAT": 0.5,
    "INTEGER": 1,
    "JSON": "{}",
}


def tables_of(connection: sqlite3.Connection) -> list[str]:
    """Return the names of the tables that hold records."""
    found = connection.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name <> 'alembic_version' "
        "AND name NOT LIKE 'sqlite_%' ORDER BY name"
    )
    return [str(row[0]) for row in found]


def contents(path: Path) -> dict[str, list[Row]]:
    """Return every row of every table, by column name."""
    with closing(sqlite3.connect(path)) as connection:
        connection.row_factory = sqlite3.Row
        return {
            table: [dict(row) for row in connection.execute(f'SELECT * FROM "{table}"')]
            for table in tables_of(connection)
        }


def fill(path: Path) -> None:
    """Put one row into each table that is still empty."""
    with closing(sqlite3.connect(path)) as connection:
        for table in tables_of(connection):
            if connection.execute(f'SELECT COUNT(*) FROM "{table}"').fetchone()[0] == 0:
                _insert(connection, table)
        if {"history", "meta"} <= set(tables_of(connection)):
            _repeat_newest_line(connection)
        connection.commit()
        broken = connection.execute("PRAGMA foreign_key_check").fetchall()
        assert not broken, broken


def _repeat_newest_line(connection: sqlite3.Connection) -> None:
    """Let the nursery's record repeat the newest line of the history, as every change does."""
    connection.execute(
        "UPDATE meta SET history_length = (SELECT MAX(sequence) FROM history), "
        "history_hash = (SELECT hash FROM history ORDER BY sequence DESC LIMIT 1)"
    )


def _insert(connection: sqlite3.Connection, table: str) -> None:
    text = connection.execute(
        "SELECT sql FROM sqlite_master WHERE name = ? AND type = 'table'", (table,)
    ).fetchone()[0]
    words = dict(re.findall(r"\b(\w+) IN \('([^']*)'", text))
    row: Row = {}
    for _, name, kind, not_null, _, _ in connection.execute(f'PRAGMA table_info("{table}")'):
        if not_null:
            row[name] = words.get(name, _BY_TYPE.get(kind.partition("(")[0], f"a {name}"))
    row |= SPECIAL.get(table, {})
    marks = ", ".join("?" for _ in row)
    names = ", ".join(f'"{name}"' for name in row)
    connection.execute(f'INSERT INTO "{table}" ({names}) VALUES ({marks})', tuple(row.values()))
