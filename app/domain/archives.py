"""What a whole-nursery archive is made of: tables, their columns, and how cells are to be read.

An archive holds each table as it is stored, row numbers included, so that an empty nursery reads
back the very same log.
"""

from dataclasses import dataclass
from enum import StrEnum


class CellKind(StrEnum):
    """What a column holds; most words are types of a Table Schema."""

    INTEGER = "integer"
    NUMBER = "number"
    TEXT = "string"
    FLAG = "boolean"
    DATE = "date"
    INSTANT = "datetime"
    JSON = "any"
    BYTES = "bytes"


@dataclass(frozen=True, kw_only=True)
class ArchivedColumn:
    """One column; `required` if a row cannot be without a value in it."""

    name: str
    kind: CellKind
    required: bool


@dataclass(frozen=True, kw_only=True)
class Reference:
    """Columns whose values stand as a key in a table."""

    columns: tuple[str, ...]
    table: str
    targets: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class ArchivedTable:
    """One table of the archive: columns in order, key, what is unique, what it points to."""

    name: str
    columns: tuple[ArchivedColumn, ...]
    key: tuple[str, ...]
    unique: tuple[tuple[str, ...], ...] = ()
    references: tuple[Reference, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the columns, in order."""
        return tuple(column.name for column in self.columns)


@dataclass(frozen=True, kw_only=True)
class SheetSeal:
    """What was written of one table: its rows and bytes, and their SHA-256 in hexadecimal."""

    table: str
    rows: int
    size: int
    sha256: str
