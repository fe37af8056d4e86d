"""The engine's settings, the fair lock, and what a commit means."""

import sqlite3
import threading
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError, OperationalError

from app.store.engine import UnsafeDatabase, journal_mode, make_engine
from app.store.fair_lock import FairLock, TooBusy
from app.store.session import Database


@pytest.mark.parametrize(
    ("version", "journal"),
    [
        ((3, 40, 1), "TRUNCATE"),
        ((3, 44, 5), "TRUNCATE"),
        ((3, 44, 6), "WAL"),
        ((3, 45, 0), "TRUNCATE"),
        ((3, 50, 6), "TRUNCATE"),
        ((3, 50, 7), "WAL"),
        ((3, 51, 2), "TRUNCATE"),
        ((3, 51, 3), "WAL"),
        ((3, 60, 0), "WAL"),
        ((4, 0, 0), "WAL"),
    ],
)
def test_wal_only_where_it_is_mended(version: tuple[int, int, int], journal: str) -> None:
    assert journal_mode(version) == journal


@pytest.mark.parametrize("journal", ["WAL", "TRUNCATE"])
def test_settings_hold_on_every_connection(tmp_path: Path, journal: str) -> None:
    database = Database(tmp_path / "a.db", journal=journal)
    with database.engine.connect() as connection:
        read = [
            connection.scalar(text(f"PRAGMA {name}"))
            for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
        ]
    database.close()
    assert read == [journal.lower(), 2, 1, 10_000]


def test_a_setting_that_does_not_hold_is_refused() -> None:
    # A database in memory cannot be journalled in a file.
    engine = make_engine(Path(":memory:"), lock=FairLock(), journal="TRUNCATE")
    with pytest.raises(UnsafeDatabase, match="safe settings"):
        engine.connect()


def test_writing_commits_and_an_error_rolls_back(database: Database) -> None:
    with database.writing() as session:
        session.execute(text("UPDATE meta SET nursery = 'Alderholt'"))
    with pytest.raises(ZeroDivisionError), database.writing() as session:
        session.execute(text("UPDATE meta SET nursery = 'lost'"))
        raise ZeroDivisionError
    with database.reading() as session:
        assert session.scalar(text("SELECT nursery FROM meta")) == "Alderholt"


def test_a_reading_session_cannot_write(database: Database) -> None:
    update = text("UPDATE meta SET nursery = 'written'")
    with database.reading() as session:
        assert session.scalar(text("SELECT nursery FROM meta")) == ""
        with pytest.raises(OperationalError, match="readonly"):
            session.execute(update)
    # The same pooled connection writes again when it is asked to.
    with database.writing() as session:
        session.execute(update)
    with database.reading() as session:
        assert session.scalar(text("SELECT nursery FROM meta")) == "written"


def test_a_writer_begins_immediate(database: Database) -> None:
    with database.writing() as session:
        session.execute(text("SELECT 1"))
        other = sqlite3.connect(database.path, timeout=0, isolation_level=None)
        with pytest.raises(sqlite3.OperationalError, match="locked"):
            other.execute("BEGIN IMMEDIATE")
        other.close()


def test_the_lock_is_free_again_after_every_end(database: Database) -> None:
    for _ in range(3):
        with database.writing() as session:
            session.execute(text("SELECT 1"))
        session = database.open_session(write=True)
        session.execute(text("SELECT 1"))
        session.rollback()
        session.execute(text("SELECT 1"))
        session.close()
    assert not database._lock._held


def test_writers_take_turns_and_nothing_is_lost(database: Database) -> None:
    def add(times: int) -> None:
        for _ in range(times):
            with database.writing() as session:
                length = session.scalar(text("SELECT data_version FROM meta")) or 0
                session.execute(text("UPDATE meta SET data_version = :n"), {"n": length + 1})

    threads = [threading.Thread(target=add, args=(20,)) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with database.reading() as session:
        assert session.scalar(text("SELECT data_version FROM meta")) == 160


def test_the_lock_goes_in_order_of_arrival() -> None:
    lock = FairLock()
    order: list[int] = []
    lock.acquire()
    threads = []
    for number in range(5):
        thread = threading.Thread(
            target=lambda number=number: (lock.acquire(), order.append(number), lock.release())
        )
        thread.start()
        while len(lock._waiting) <= number:
            pass
        threads.append(thread)
    lock.release()
    for thread in threads:
        thread.join()
    assert order == [0, 1, 2, 3, 4]


def test_a_wait_that_is_too_long_says_so_and_leaves_the_queue() -> None:
    lock = FairLock()
    lock.acquire()
    with pytest.raises(TooBusy, match="try again"):
        lock.acquire(timeout_s=0.01)
    lock.release()
    lock.acquire(timeout_s=0.01)


def test_counts_add_up_in_the_database_itself(database: Database) -> None:
    statements = [
        (
            "INSERT INTO genera (id, name, family, caution, caution_route, caution_basis, "
            "caution_applies_to, version) VALUES (1, 'Hebe', '', '', '', '', '', 1)"
        ),
        (
            "INSERT INTO plant_names (id, plain, genus_id, hybrid, species, infraspecific, "
            "group_epithet, grex, cultivar, second_parent, qualifier, trade_designation, "
            "common_name, rights_grant, rights_licence, notes, version) "
            "VALUES (1, 'Hebe', 1, '', '', '', '', '', '', '', '', '', '', '', '', '', 1)"
        ),
    ]
    facts = (
        "INSERT INTO batch_facts (batch_id, genus_id, plant_name_id, cutting_type, stuck_on, "
        "year_stuck, month_stuck, stuck, rooted, lost, dumped, cleared_unrooted, unrooted, open, "
        "voided) VALUES (1, 1, 1, '', '2026-11-01', 2026, 11, 10, {counts}, 1, 0)"
    )
    for counts in ("11, 0, 0, 0, -1", "5, 5, 0, 0, 1"):
        with (
            pytest.raises(IntegrityError, match="ck_batch_facts_counts"),
            database.writing() as session,
        ):
            session.execute(text("PRAGMA defer_foreign_keys = ON"))
            for statement in statements:
                session.execute(text(statement))
            session.execute(text(facts.format(counts=counts)))
