"""Copies of the database: sound whoever writes meanwhile, whole or not there at all."""

import sqlite3
import threading
from contextlib import closing
from pathlib import Path

import pytest

from app.services.history import record_change
from app.store.backups import BackupUnsound, check_sound, copy_database, replace_database
from app.store.session import Database
from tests.conftest import NOW
from tests.migrations.rows import contents


def _write(database: Database, *, lines: int, who: int) -> None:
    for number in range(lines):
        with database.writing() as session:
            record_change(
                session,
                actor=None,
                now=NOW,
                what="bench walked",
                subject=f"bench {who}-{number}",
                change={},
            )


@pytest.mark.parametrize("journal", ["WAL", "TRUNCATE"])
def test_copies_made_under_writers_are_whole(
    migrated_file: Path, tmp_path: Path, journal: str
) -> None:
    path = tmp_path / "log.db"
    path.write_bytes(migrated_file.read_bytes())
    database = Database(path, journal=journal)
    writers = [
        threading.Thread(target=_write, args=(database,), kwargs={"lines": 40, "who": who})
        for who in range(4)
    ]
    for writer in writers:
        writer.start()
    lengths = []
    for number in range(10):
        copy = tmp_path / f"copy-{number}.db"
        copy_database(path, target=copy)
        lengths.append(_chain_length(copy))
    for writer in writers:
        writer.join()
    database.close()
    assert lengths == sorted(lengths)
    assert _chain_length(path) == 160


def _chain_length(path: Path) -> int:
    """Return how many history lines there are, all of one picture of one moment."""
    check_sound(path)
    with closing(sqlite3.connect(path)) as connection:
        length, newest = connection.execute(
            "SELECT history_length, history_hash FROM meta"
        ).fetchone()
        rows = connection.execute("SELECT hash FROM history ORDER BY sequence").fetchall()
    assert len(rows) == length
    assert not rows or rows[-1][0] == newest
    return int(length)


def test_a_copy_equals_the_log(database: Database, tmp_path: Path) -> None:
    _write(database, lines=3, who=1)
    copy_database(database.path, target=tmp_path / "copy.db")
    assert contents(tmp_path / "copy.db") == contents(database.path)


def test_a_copy_is_one_file(database: Database, tmp_path: Path) -> None:
    folder = tmp_path / "kept"
    copy_database(database.path, target=folder / "copy.db")
    assert [path.name for path in folder.iterdir()] == ["copy.db"]
    assert (folder / "copy.db").stat().st_mode & 0o077 == 0


def test_an_unsound_copy_is_not_kept(
    database: Database, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = tmp_path / "kept" / "copy.db"
    copy_database(database.path, target=kept)
    before = kept.read_bytes()
    _write(database, lines=1, who=1)

    def unsound(path: Path) -> None:
        raise BackupUnsound(f"{path} is damaged")

    monkeypatch.setattr("app.store.backups.check_sound", unsound)
    with pytest.raises(BackupUnsound):
        copy_database(database.path, target=kept)
    assert kept.read_bytes() == before
    assert [path.name for path in kept.parent.iterdir()] == ["copy.db"]


def test_without_a_log_there_is_nothing_to_copy(tmp_path: Path) -> None:
    with pytest.raises(BackupUnsound, match="no log"):
        copy_database(tmp_path / "none.db", target=tmp_path / "copy.db")
    assert list(tmp_path.iterdir()) == []


def test_damage_is_found(database: Database, tmp_path: Path) -> None:
    _write(database, lines=60, who=1)
    copy = tmp_path / "copy.db"
    copy_database(database.path, target=copy)
    whole = copy.read_bytes()
    copy.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(BackupUnsound, match="damaged"):
        check_sound(copy)
    copy.write_bytes(b"batch,plant,stuck_on\n" * 100)
    with pytest.raises(BackupUnsound, match="not a backup"):
        check_sound(copy)
    with pytest.raises(BackupUnsound, match="no file"):
        check_sound(tmp_path / "none.db")


def test_putting_back_moves_the_log_aside(database: Database, tmp_path: Path) -> None:
    copy, aside = tmp_path / "copy.db", tmp_path / "kept" / "before.db"
    _write(database, lines=2, who=1)
    copy_database(database.path, target=copy)
    _write(database, lines=5, who=2)
    newest = contents(database.path)
    database.close()
    replace_database(database.path, by=copy, aside=aside)
    assert contents(database.path) == contents(copy)
    assert contents(aside) == newest
    assert copy.is_file()


def test_a_damaged_log_can_be_replaced(database: Database, tmp_path: Path) -> None:
    copy, aside = tmp_path / "copy.db", tmp_path / "before.db"
    copy_database(database.path, target=copy)
    database.close()
    database.path.write_bytes(b"\x00 nothing of a log is left \x00")
    replace_database(database.path, by=copy, aside=aside)
    assert contents(database.path) == contents(copy)
    assert aside.read_bytes() == b"\x00 nothing of a log is left \x00"


def test_an_unsound_file_is_not_put_back(database: Database, tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.db"
    wrong.write_bytes(b"SQLite format 3\x00" + b"\x07" * 5000)
    before = database.path.read_bytes()
    with pytest.raises(BackupUnsound):
        replace_database(database.path, by=wrong, aside=tmp_path / "aside.db")
    assert database.path.read_bytes() == before
    assert not (tmp_path / "aside.db").exists()
