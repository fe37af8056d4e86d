"""Making a data folder ready."""

from pathlib import Path

import pytest

from app.services.databases import prepare_database
from app.settings import Settings
from app.store.migrating import migrate, revision_of, revisions
from tests.conftest import NOW
from tests.migrations.rows import contents, fill


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(data=tmp_path, secret_key="0")


def test_a_new_folder_gets_a_filled_log(settings: Settings) -> None:
    done = prepare_database(settings, now=NOW)
    assert (done.before, done.after) == (None, revisions()[-1])
    assert contents(settings.database_path)["containers"]
    assert not settings.backups.exists()


def test_a_second_start_changes_nothing(settings: Settings) -> None:
    prepare_database(settings, now=NOW)
    before = contents(settings.database_path)
    assert not prepare_database(settings, now=NOW).changed
    assert contents(settings.database_path) == before


def test_an_older_log_is_copied_before_it_is_changed(settings: Settings) -> None:
    older = revisions()[-2]
    migrate(settings.database_path, revision=older)
    fill(settings.database_path)
    before = contents(settings.database_path)
    prepare_database(settings, now=NOW)
    copy = settings.backups / f"before-update-from-{older}-2026-11-25-090000.db"
    assert contents(copy) == before
    assert revision_of(copy) == older
    assert revision_of(settings.database_path) == revisions()[-1]
