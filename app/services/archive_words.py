"""What an archive says of its tables and columns: the words of docs/data.md, and the models'."""

import re
from functools import lru_cache
from pathlib import Path
from typing import Final

from app.formats.data_packages import ColumnWords, TableWords
from app.store.archive_models import choices_by_column, json_types_by_column

_PACKAGE: Final = Path(__file__).parent.parent
_TABLE: Final = re.compile(r"### `(\w+)`")
_COLUMN: Final = re.compile(r"\| `(\w+)` \| (.+) \|")


def data_docs() -> Path:
    """Return the page of what is stored: inside the installed package, or in a checkout's docs."""
    inside = _PACKAGE / "_docs" / "data.md"
    return inside if inside.is_file() else _PACKAGE.parent / "docs" / "data.md"


@lru_cache(maxsize=1)
def table_words() -> dict[str, TableWords]:
    """Return what is told of each table and its columns, by the table's name."""
    choices, json_types = choices_by_column(), json_types_by_column()
    return {
        table: TableWords(
            description=about,
            columns={
                name: ColumnWords(
                    description=words,
                    type=json_types.get((table, name), ""),
                    choices=choices.get((table, name), ()),
                )
                for name, words in columns.items()
            },
        )
        for table, (about, columns) in _documented().items()
    }


def _documented() -> dict[str, tuple[str, dict[str, str]]]:
    found: dict[str, tuple[str, dict[str, str]]] = {}
    for section in re.split(r"(?m)^(?=#{2,3} )", data_docs().read_text(encoding="utf-8")):
        title = _TABLE.match(section)
        if title is None:
            continue
        lines = section.splitlines()[1:]
        about = [line for line in lines if line and not line.startswith("|")]
        columns = {row[1]: row[2] for line in lines if (row := _COLUMN.fullmatch(line))}
        found[title[1]] = (" ".join(about).replace("`", ""), columns)
    return {
        table: (about, {name: words.replace("`", "") for name, words in columns.items()})
        for table, (about, columns) in found.items()
    }
