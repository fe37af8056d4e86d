"""A log with batches and an order, told once for all pages that need what was learned."""

from pathlib import Path
from shutil import copyfile

import pytest

from app.store.session import Database
from tests.journeys.told_log import tell_small_log


@pytest.fixture(scope="session")
def told_file(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small log with an order, told once for all tests here."""
    path = tmp_path_factory.mktemp("told") / "strikewell.db"
    copyfile(migrated_file, path)
    database = Database(path, journal="TRUNCATE")
    tell_small_log(database)
    database.close()
    return path
