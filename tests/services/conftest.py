"""A small log for sheets to be taken out of and read in to."""

from pathlib import Path
from shutil import copyfile

import pytest

from app.domain.people import Actor
from app.services.sheet_imports import Writer
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.journeys.told_log import tell_small_log


@pytest.fixture(scope="session")
def told(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("told") / "strikewell.db"
    copyfile(migrated_file, path)
    database = Database(path)
    tell_small_log(database)
    database.close()
    return path


@pytest.fixture
def log(told: Path, database: Database) -> Database:
    """A small log of its own for each test."""
    database.close()
    copyfile(told, database.path)
    return database


@pytest.fixture
def writer(head: Actor) -> Writer:
    return Writer(actor=head, today=TODAY, now=NOW)
