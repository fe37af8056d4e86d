"""The regular backups that a served log gets by itself."""

import io
import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import text
from sqlalchemy.exc import OperationalError

from app.cli.backup_keeper import BackupKeeper
from app.cli.context import Context
from app.clock import FixedClock
from app.domain.people import Actor
from app.settings import Settings
from app.store.backups import BackupUnsound
from app.store.queries.fits import find_fit
from app.store.session import Database
from tests.conftest import NOW
from tests.services.finished_records import add_finished


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


def test_it_keeps_what_the_batches_teach(
    keeper: BackupKeeper, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        add_finished(session, head, batches=12)
    keeper.learn_once()
    with database.reading() as session:
        stored = find_fit(session)
        assert stored is not None
        assert (stored.fit.finished, stored.stale, stored.fitted_at) == (12, False, NOW)
        made = session.scalar(text("SELECT rowid || fitted_at FROM fits"))
    keeper.learn_once()
    with database.reading() as session:
        assert session.scalar(text("SELECT rowid || fitted_at FROM fits")) == made


def test_a_full_disk_is_told_and_what_was_learned_stays(
    context: Context, keeper: BackupKeeper, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_args: object, **_kwargs: object) -> None:
        raise OperationalError("INSERT", {}, Exception("database or disk is full"))

    with monkeypatch.context() as patched:
        patched.setattr("app.cli.learning.learn", fail)
        keeper.learn_once()
    assert isinstance(context.err, io.StringIO)
    assert context.err.getvalue() == (
        "What the batches teach is as it was last worked out: database or disk is full.\n"
    )


def test_it_runs_until_it_is_stopped(
    context: Context, database: Database, monkeypatch: pytest.MonkeyPatch, clock: FixedClock
) -> None:
    monkeypatch.setattr("app.cli.backup_keeper.LOOK_EVERY_S", 0.01)
    looks: list[datetime] = []
    learned = threading.Event()
    once = BackupKeeper.keep_once

    def look(keeper: BackupKeeper) -> None:
        looks.append(clock.instant)
        once(keeper)
        if len(looks) >= 3 and learned.is_set():
            keeper._ended.set()
        clock.instant += timedelta(days=1)

    monkeypatch.setattr(BackupKeeper, "keep_once", look)
    monkeypatch.setattr(BackupKeeper, "learn_once", lambda _keeper: learned.set())
    keeper = BackupKeeper(context, database)
    keeper.start()
    for thread in keeper._threads:
        thread.join(timeout=10)
    assert len(looks) >= 3
    assert sum(name.startswith("daily") for name in _names(context)) == min(len(looks), 14)


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_backups_go_on_whatever_happens_to_the_learning(
    context: Context, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    def break_down(_keeper: BackupKeeper) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("app.cli.backup_keeper.LOOK_EVERY_S", 0.01)
    monkeypatch.setattr(BackupKeeper, "learn_once", break_down)
    looked = threading.Semaphore(0)
    monkeypatch.setattr(BackupKeeper, "keep_once", lambda _keeper: looked.release())
    keeper = BackupKeeper(context, database)
    keeper.start()
    keeper._threads[1].join(timeout=10)
    assert all(looked.acquire(timeout=10) for _ in range(3))
    keeper.stop()
    assert not any(thread.is_alive() for thread in keeper._threads)
