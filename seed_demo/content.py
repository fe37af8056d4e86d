"""What a told log holds, as one hash: the same for the same seed and the same anchor day.

Left out is what is random or of the moment on purpose: password hashes, tokens, codes and their
hashes, instants, the seals of the history, which cover instants, and the fit, whose bytes are
only made of the rest. Random keys of people and of
walks are numbered in the order they came.
"""

import hashlib
import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Final

_LEFT_OUT_TABLES: Final = frozenset(
    {"alembic_version", "fits", "one_time_codes", "posted_forms", "sessions", "sign_in_events"}
)
_LEFT_OUT_COLUMNS: Final = frozenset(
    {"at", "hash", "history_hash", "password_hash", "previous_hash"}
)
_RANDOM_KEYS: Final = (
    "SELECT key FROM people ORDER BY id",
    "SELECT walk_key FROM check_versions WHERE walk_key <> '' GROUP BY walk_key ORDER BY MIN(id)",
)


def content_hash(path: Path) -> str:
    """Return the SHA-256 in hexadecimal over everything that a database tells."""
    digest = hashlib.sha256()
    with closing(sqlite3.connect(path)) as connection:
        connection.row_factory = sqlite3.Row
        numbered = dict(_numbered(connection))
        for table in _tables(connection):
            for row in connection.execute(f'SELECT * FROM "{table}" ORDER BY 1, 2'):  # noqa: S608 - names from the schema itself
                line = json.dumps([table, _told(row, numbered)], sort_keys=True)
                digest.update(line.encode())
    return digest.hexdigest()


def _tables(connection: sqlite3.Connection) -> list[str]:
    found = connection.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' "
        "ORDER BY name"
    )
    return [row["name"] for row in found if row["name"] not in _LEFT_OUT_TABLES]


def _numbered(connection: sqlite3.Connection) -> Iterator[tuple[str, str]]:
    for query in _RANDOM_KEYS:
        for number, row in enumerate(connection.execute(query), start=1):
            yield row[0], f"key {number}"


def _told(row: sqlite3.Row, numbered: dict[str, str]) -> dict[str, object]:
    return {
        name: _plain(row[name], numbered)
        for name in row.keys()  # noqa: SIM118 - a row yields its values
        if name not in _LEFT_OUT_COLUMNS and not name.endswith("_at")
    }


def _plain(value: object, numbered: dict[str, str]) -> object:
    """Return a value with each random key in it replaced by its number."""
    if not isinstance(value, str):
        return value
    words = value.split(" ")
    return " ".join(numbered.get(word, word) for word in words)
