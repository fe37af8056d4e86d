"""The whole story, told once for all tests that look at it."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from app.store.session import Database
from tests.seed_demo.telling import tell


@pytest.fixture(scope="session")
def told_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tell(tmp_path_factory.mktemp("told"))


@pytest.fixture
def told(told_file: Path) -> Iterator[sqlite3.Connection]:
    """The told log, to ask in plain SQL."""
    with closing(sqlite3.connect(told_file)) as connection:
        yield connection


@pytest.fixture
def told_database(told_file: Path) -> Iterator[Database]:
    database = Database(told_file)
    yield database
    database.close()
