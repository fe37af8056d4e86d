"""The regular backups that a served log gets by itself."""

import io
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest

from app.cli.backup_keeper import BackupKeeper
from app.cli.context import Context
from app.clock import FixedClock
from app.settings import Settings
from app.store.backups import BackupUnsound
from app.store.session import Database


@pytest.fixture
def context(database: Database, clock: FixedClock) -> Context:
    settings = Settings(data=database.path.parent, secret_key="0")
    return Context(settings=settings, clock=clock, out=io.StringIO(), err=io.StringIO())


@pytest.fixture
def keeper(context: Context, database: Database) -> Iterator[BackupKeeper]:
    keeper = BackupKeeper(context, database)
    yield keeper
    keeper.stop()


def _names(context: Context) -> list[str]:
    return sorted(path.name for path in context.settings.backups.iterdir())


def test_each_day_of_the_nursery_gets_one(
    context: Context, keeper: BackupKeeper, clock: FixedClock, database: Database
) -> None:
    with database.writing() as session:
        session.connection().exec_driver_sql("UPDATE meta SET zone = 'Pacific/Auckland'")
    keeper.keep_once()
    keeper.keep_once()
    assert _names(context) == ["daily-2026-11-25.db", "monthly-2026-11.db"]
    # 11:30 in the morning in London is past midnight in Auckland.
    clock.instant = datetime(2026, 11, 25, 11, 30, tzinfo=UTC)
    keeper.keep_once()
    assert _names(context)[1] == "daily-2026-11-26.db"


def test_a_failure_is_told_and_tried_again(
    context: Context, keeper: BackupKeeper, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_args: object, **_kwargs: object) -> None:
        raise BackupUnsound("The stick is full.")

    with monkeypatch.context() as patched:
        patched.setattr("app.services.backups.copy_database", fail)
        keeper.keep_once()
    assert isinstance(context.err, io.StringIO)
    assert context.err.getvalue() == "No backup could be made: The stick is full.\n"
    keeper.keep_once()
    assert len(_names(context)) == 2


def test_it_runs_until_it_is_stopped(
    context: Context, keeper: BackupKeeper, monkeypatch: pytest.MonkeyPatch, clock: FixedClock
) -> None:
    monkeypatch.setattr("app.cli.backup_keeper.LOOK_EVERY_S", 0.01)
    looks = []
    once = keeper.keep_once

    def look() -> None:
        looks.append(clock.instant)
        once()
        if len(looks) == 3:
            keeper._ended.set()
        clock.instant += timedelta(days=1)

    monkeypatch.setattr(keeper, "keep_once", look)
    keeper.start()
    keeper._thread.join(timeout=10)
    assert len(looks) == 3
    assert sum(name.startswith("daily") for name in _names(context)) == 3
