"""Which backups are made and kept, and when there are too old."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.services.backups import (
    backup_state,
    bring_photographs,
    keep_regular_backups,
    restore_backup,
    write_backup,
)
from app.services.history import record_change
from app.settings import Settings
from app.store.migrating import DatabaseIsNewer, NotALog
from app.store.session import Database
from tests.conftest import NOW
from tests.migrations.rows import contents
from tests.services.check_records import check, said, stick
from tests.services.photograph_records import photograph


@pytest.fixture
def settings(database: Database) -> Settings:
    return Settings(data=database.path.parent, secret_key="0")


def _names(settings: Settings) -> list[str]:
    return sorted(path.name for path in settings.backups.iterdir())


def test_one_a_day_and_one_a_month(settings: Settings) -> None:
    made = keep_regular_backups(settings, today=date(2026, 11, 25), now=NOW)
    assert [path.name for path in made] == ["daily-2026-11-25.db", "monthly-2026-11.db"]
    assert keep_regular_backups(settings, today=date(2026, 11, 25), now=NOW) == ()
    made = keep_regular_backups(settings, today=date(2026, 11, 26), now=NOW + timedelta(days=1))
    assert [path.name for path in made] == ["daily-2026-11-26.db"]


def test_photographs_are_kept_once_for_all_of_them(
    settings: Settings, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        found = check(session, head, stick(session, head), said(1, rooted=3))
        photograph(session, head, settings.photographs, check_id=found.check_id)
    keep_regular_backups(settings, today=date(2026, 11, 25), now=NOW)
    kept = settings.backups / "photographs"
    names = sorted(path.name for path in settings.photographs.iterdir())
    assert sorted(path.name for path in kept.iterdir()) == names
    # What was lost from the backups is made good at the next look, without a new copy of the log.
    (kept / names[0]).unlink()
    assert keep_regular_backups(settings, today=date(2026, 11, 25), now=NOW) == ()
    assert (kept / names[0]).is_file()
    # A restore finds them beside the copy.
    for name in names:
        (settings.photographs / name).unlink()
    brought = bring_photographs(settings, file=settings.backups / "daily-2026-11-25.db")
    assert (sorted(brought.copied), brought.missing) == ([n[:-4] for n in names], ())


def test_14_days_and_12_months_are_kept(settings: Settings) -> None:
    other = settings.backups / "daily-notes.txt"
    settings.backups.mkdir()
    other.write_text("not ours to remove", encoding="utf-8")
    first = date(2025, 1, 1)
    for day in range(0, 430, 10):
        now = datetime(2025, 1, 1, 9, tzinfo=UTC) + timedelta(days=day)
        keep_regular_backups(settings, today=first + timedelta(days=day), now=now)
    names = _names(settings)
    daily = [name for name in names if name.startswith("daily-20")]
    monthly = [name for name in names if name.startswith("monthly-")]
    assert len(daily) == 14
    assert (daily[0], daily[-1]) == ("daily-2025-10-18.db", "daily-2026-02-25.db")
    assert len(monthly) == 12
    assert (monthly[0], monthly[-1]) == ("monthly-2025-03.db", "monthly-2026-02.db")
    assert other.exists()


def test_a_backup_is_late_after_26_hours(settings: Settings) -> None:
    state = backup_state(settings, now=NOW)
    assert (state.newest_at, state.late, state.daily, state.monthly) == (None, True, 0, 0)
    keep_regular_backups(settings, today=NOW.date(), now=NOW)
    state = backup_state(settings, now=NOW + timedelta(hours=26))
    assert (state.newest_at, state.late, state.daily, state.monthly) == (NOW, False, 1, 1)
    assert backup_state(settings, now=NOW + timedelta(hours=26, seconds=1)).late


def test_a_backup_never_replaces_a_file(settings: Settings, tmp_path: Path) -> None:
    made = write_backup(settings, file=tmp_path / "mine.db", now=NOW)
    before = made.read_bytes()
    with pytest.raises(NotAccepted, match="there already"):
        write_backup(settings, file=tmp_path / "mine.db", now=NOW)
    assert made.read_bytes() == before


def test_a_folder_gets_a_dated_file(settings: Settings, tmp_path: Path) -> None:
    folder = tmp_path / "stick"
    folder.mkdir()
    made = write_backup(settings, file=folder, now=NOW)
    assert made == folder / "strikewell-2026-11-25-090000.db"
    assert contents(made) == contents(settings.database_path)


def test_restoring_brings_back_what_was(settings: Settings, database: Database) -> None:
    before = contents(database.path)
    made = write_backup(settings, file=database.path.parent / "mine.db", now=NOW)
    with database.writing() as session:
        record_change(session, actor=None, now=NOW, what="x", subject="y", change={})
    after = contents(database.path)
    database.close()
    aside = restore_backup(settings, file=made, now=NOW)
    assert contents(database.path) == before
    assert aside.name == "before-restore-2026-11-25-090000.db"
    assert contents(aside) == after


@pytest.mark.parametrize(
    ("statement", "refusal"),
    [
        ("UPDATE alembic_version SET version_num = 'later'", DatabaseIsNewer),
        ("DROP TABLE alembic_version", NotALog),
    ],
)
def test_only_a_log_of_ours_is_restored(
    settings: Settings, database: Database, statement: str, refusal: type[Exception]
) -> None:
    made = write_backup(settings, file=database.path.parent / "mine.db", now=NOW)
    other = Database(made)
    with other.writing() as session:
        session.connection().exec_driver_sql(statement)
    other.close()
    before = contents(database.path)
    with pytest.raises(refusal):
        restore_backup(settings, file=made, now=NOW)
    assert contents(database.path) == before
