"""The description of an archive: a Data Package with a Table Schema for each sheet.

After "Data Package" and "Table Schema", version 2.0, of the Data Package Working Group
(datapackage.org). What only this program needs stands under a property of its own.
"""

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from app.domain.archives import ArchivedColumn, ArchivedTable, CellKind, SheetSeal
from app.domain.problems import NotAccepted
from app.formats.archive_cells import NOTHING
from app.formats.archive_zips import sheet_path

FIELD: Final = "file"
FORM: Final = 1
_OWN: Final = "strikewell"
_PROFILE: Final = "https://datapackage.org/profiles/2.0/datapackage.json"
_TABLE_NAME: Final = re.compile(r"[a-z][a-z_]{0,60}")
_SHA256: Final = re.compile(r"[0-9a-f]{64}")
_TITLE: Final = "The whole log of a nursery's propagation unit"
_ABOUT: Final = (
    "Every table as it is stored, one sheet each, and the photographs. It holds personal data: "
    "names of people and what they noted. Nothing stored is written \\N. Text that begins with a "
    "backslash or with a sign that a spreadsheet takes for a formula has a backslash before it. "
    "Instants are UTC. The file of marks beside a sheet has a CRC-32 for each of its lines."
)
_DIALECT: Final = {
    "delimiter": ",",
    "lineTerminator": "\r\n",
    "quoteChar": '"',
    "doubleQuote": True,
    "header": True,
}


@dataclass(frozen=True, kw_only=True)
class ColumnWords:
    """What is told of a column beside its kind: in words, and the values it may have, if few."""

    description: str = ""
    type: str = ""
    choices: tuple[str | int, ...] = ()


@dataclass(frozen=True, kw_only=True)
class TableWords:
    """What is told of a table: in words, and of its columns by name."""

    description: str = ""
    columns: Mapping[str, ColumnWords]


@dataclass(frozen=True, kw_only=True)
class Package:
    """What an archive says of itself."""

    revision: str
    content: str
    photographs: int
    seals: Mapping[str, SheetSeal]


def write_package(
    package: Package, *, tables: Sequence[ArchivedTable], words: Mapping[str, TableWords]
) -> bytes:
    """Return the description as JSON, the same bytes for the same content."""
    described = {
        "$schema": _PROFILE,
        "name": "strikewell-archive",
        "title": _TITLE,
        "description": _ABOUT,
        _OWN: {
            "form": FORM,
            "revision": package.revision,
            "content": f"sha256:{package.content}",
            "photographs": package.photographs,
        },
        "resources": [
            _resource(table, seal=package.seals[table.name], words=words.get(table.name))
            for table in tables
        ],
    }
    return json.dumps(described, indent=1, ensure_ascii=False).encode("utf-8")


def read_package(data: bytes) -> Package:
    """Return what an archive says of itself.

    Raises:
        NotAccepted: it is not the description of an archive, or of a newer form.
    """
    try:
        described = json.loads(data)
        own = described[_OWN]
        form = _whole(own["form"])
    except (ValueError, TypeError, KeyError, RecursionError) as error:
        raise NotAccepted.at(FIELD, _not_ours()) from error
    if form > FORM:
        raise NotAccepted.at(FIELD, newer_archive())
    try:
        seals = [_seal(resource) for resource in described["resources"]]
        return Package(
            revision=str(own["revision"]),
            content=_sha256(own["content"]),
            photographs=_whole(own["photographs"]),
            seals={seal.table: seal for seal in seals},
        )
    except (ValueError, TypeError, KeyError) as error:
        raise NotAccepted.at(FIELD, _not_ours()) from error


def newer_archive() -> str:
    """Return the sentence for an archive that this program is too old for."""
    return (
        "This archive was written by a newer version of Strikewell. Nothing was changed. "
        "Install that version and read it back with that."
    )


def _resource(table: ArchivedTable, *, seal: SheetSeal, words: TableWords | None) -> dict[str, Any]:
    told = words or TableWords(columns={})
    return {
        "name": table.name,
        "type": "table",
        "description": told.description,
        "path": sheet_path(table.name),
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "bytes": seal.size,
        "hash": f"sha256:{seal.sha256}",
        "rows": seal.rows,
        "dialect": _DIALECT,
        "schema": _schema(table, words=told),
    }


def _schema(table: ArchivedTable, *, words: TableWords) -> dict[str, Any]:
    alone = {columns[0] for columns in table.unique if len(columns) == 1}
    schema: dict[str, Any] = {
        "fields": [
            _field(
                column,
                words=words.columns.get(column.name, ColumnWords()),
                unique=column.name in alone,
            )
            for column in table.columns
        ],
        "missingValues": [NOTHING],
        "primaryKey": list(table.key),
    }
    if together := [list(columns) for columns in table.unique if len(columns) > 1]:
        schema["uniqueKeys"] = together
    if table.references:
        schema["foreignKeys"] = [
            {
                "fields": list(reference.columns),
                "reference": {
                    # A table that points to itself is not named.
                    **({} if reference.table == table.name else {"resource": reference.table}),
                    "fields": list(reference.targets),
                },
            }
            for reference in table.references
        ]
    return schema


def _field(column: ArchivedColumn, *, words: ColumnWords, unique: bool) -> dict[str, Any]:
    field: dict[str, Any] = {"name": column.name, "type": words.type or str(column.kind)}
    if column.kind is CellKind.BYTES:
        field |= {"type": "string", "format": "binary"}
    field["description"] = words.description
    limits: dict[str, Any] = {}
    if column.required:
        limits["required"] = True
    if unique:
        limits["unique"] = True
    if words.choices:
        limits["enum"] = list(words.choices)
    if limits:
        field["constraints"] = limits
    return field


def _seal(resource: Mapping[str, Any]) -> SheetSeal:
    table = resource["name"]
    if not _TABLE_NAME.fullmatch(table) or resource["path"] != sheet_path(table):
        raise ValueError(table)
    return SheetSeal(
        table=table,
        rows=_whole(resource["rows"]),
        size=_whole(resource["bytes"]),
        sha256=_sha256(resource["hash"]),
    )


def _whole(value: Any) -> int:
    if type(value) is not int or value < 0:
        raise ValueError(value)
    return value


def _sha256(value: Any) -> str:
    found = str(value).removeprefix("sha256:")
    if not _SHA256.fullmatch(found):
        raise ValueError(value)
    return found


def _not_ours() -> str:
    return "This is not an archive of Strikewell: its datapackage.json was not written by it."
