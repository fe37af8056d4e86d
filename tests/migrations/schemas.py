"""The text of a schema, made comparable."""

import re
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import create_engine

import app.store.models  # noqa: F401 - makes every table known
from app.store.base import Base
from app.store.triggers import create_triggers

Schema = dict[str, frozenset[str]]


def schema_of(path: Path) -> Schema:
    """Return each table, index and trigger with the set of its parts.

    Columns and constraints are compared as a set: a column added later stands at the end.
    """
    with closing(sqlite3.connect(path)) as connection:
        found = connection.execute(
            "SELECT name, sql FROM sqlite_master "
            "WHERE sql IS NOT NULL AND name <> 'alembic_version'"
        )
        return {str(name): frozenset(_parts(" ".join(sql.split()))) for name, sql in found}


def schema_of_models(path: Path) -> Schema:
    """Return the schema that the models and triggers make in a new file."""
    engine = create_engine(f"sqlite:///{path}")
    with engine.begin() as connection:
        Base.metadata.create_all(connection)
        create_triggers(connection)
    engine.dispose()
    return schema_of(path)


def _parts(statement: str) -> list[str]:
    """Split a statement at the commas of its outermost brackets."""
    if not statement.startswith("CREATE TABLE"):
        return [statement]
    head, _, body = statement.partition("(")
    parts, depth = [""], 0
    for sign in body.rstrip()[:-1]:
        depth += {"(": 1, ")": -1}.get(sign, 0)
        if sign == "," and depth == 0:
            parts.append("")
        else:
            parts[-1] += sign
    return [re.sub(r'["`]', "", head).strip(), *(part.strip() for part in parts)]
