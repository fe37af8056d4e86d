"""Archives of older programs: read at their own revision, then brought up to date."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from app.services.archives import write_archive
from app.services.unarchives import read_archive
from app.settings import Settings
from app.store.migrating import migrate, revision_of, revisions
from tests.conftest import NOW
from tests.migrations.rows import contents

_REVISIONS = revisions()


@pytest.fixture(params=[_REVISIONS[0], _REVISIONS[len(_REVISIONS) // 2], _REVISIONS[-2]])
def older(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Settings]:
    settings = Settings(data=tmp_path / "older", secret_key="0")
    settings.data.mkdir()
    migrate(settings.database_path, revision=request.param)
    with closing(sqlite3.connect(settings.database_path)) as connection:
        connection.execute(
            "INSERT INTO people (key, name, name_key, notes, version) "
            "VALUES ('k', 'Odo Fenn', 'odo fenn', '', 1)"
        )
        connection.commit()
    yield settings


def test_an_archive_of_an_older_program_is_brought_up_to_date(
    older: Settings, tmp_path: Path
) -> None:
    empty = Settings(data=tmp_path / "empty", secret_key="0")
    empty.data.mkdir()
    write_archive(older, file=tmp_path / "older.zip")
    read_archive(empty, file=tmp_path / "older.zip", now=NOW)
    assert revision_of(empty.database_path) == revisions()[-1]
    assert [row["name"] for row in contents(empty.database_path)["people"]] == ["Odo Fenn"]
    assert contents(empty.database_path)["hormones"]
