"""What an archive says of tables and columns comes from the page that documents them."""

import tomllib

import app.store.models  # noqa: F401 - makes every table known
from app.services import archive_words
from app.store.base import Base
from tests.rules.sources import ROOT


def test_every_table_and_column_has_words() -> None:
    words = archive_words.table_words()
    for name, table in Base.metadata.tables.items():
        assert words[name].description
        assert all(words[name].columns[column.name].description for column in table.columns)


def test_an_installed_program_brings_the_words_along() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    included = project["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    assert included["docs/data.md"] == "app/_docs/data.md"
    assert archive_words.data_docs() == ROOT / "docs" / "data.md"
