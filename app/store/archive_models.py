"""What the models know of columns and the database file does not tell in a form to read."""

import ast
import re
from typing import Any, Final, get_args, get_origin

from sqlalchemy import JSON, CheckConstraint

import app.store.models  # noqa: F401 - makes every table known
from app.store.base import Base

_CHOICES: Final = re.compile(r"(\w+) IN (\(.+\))")
_JSON_TYPES: Final = {list: "array", dict: "object"}


def choices_by_column() -> dict[tuple[str, str], tuple[str | int, ...]]:
    """Return the values a column may have, by table and column, where a CHECK lists them."""
    found: dict[tuple[str, str], tuple[str | int, ...]] = {}
    for table in Base.metadata.sorted_tables:
        for constraint in table.constraints:
            if not isinstance(constraint, CheckConstraint):
                continue
            listed = _CHOICES.fullmatch(str(constraint.sqltext))
            if listed is not None:
                found[table.name, listed[1]] = _values(listed[2])
    return found


def json_types_by_column() -> dict[tuple[str, str], str]:
    """Return "array" or "object" for each column of JSON, by table and column."""
    return {
        (mapper.class_.__tablename__, column.name): _json_type(mapper.class_, column.name)
        for mapper in Base.registry.mappers
        for column in mapper.columns
        if isinstance(column.type, JSON)
    }


def _values(text: str) -> tuple[str | int, ...]:
    # A list of one in SQL is a value in brackets in Python.
    listed = ast.literal_eval(text)
    return listed if isinstance(listed, tuple) else (listed,)


def _json_type(model: type[Any], name: str) -> str:
    wanted = get_args(model.__annotations__[name])[0]
    kinds = {_JSON_TYPES.get(get_origin(part) or part) for part in (wanted, *get_args(wanted))}
    return next((kind for kind in kinds if kind), "any")
