"""`backup FILE` and `restore FILE`."""

from pathlib import Path

from app.store.folder_lock import hold_folder
from tests.cli.running import run_command
from tests.migrations.rows import contents


def test_there_and_back(tmp_path: Path) -> None:
    data, kept = tmp_path / "data", tmp_path / "kept.db"
    assert run_command("verify", data=data).code == 0
    before = contents(data / "strikewell.db")
    answer = run_command("backup", kept, data=data)
    assert answer.code == 0
    assert str(kept) in answer.out
    (data / "strikewell.db").unlink()
    assert run_command("restore", kept, data=data).code == 0
    assert contents(data / "strikewell.db") == before
    again = run_command("restore", kept, data=data)
    assert "before-restore-2026-11-25-090000.db" in again.out


def test_a_backup_can_be_made_while_the_log_is_served(tmp_path: Path) -> None:
    run_command("verify", data=tmp_path)
    with hold_folder(tmp_path):
        assert run_command("backup", tmp_path / "kept.db", data=tmp_path).code == 0


def test_nothing_is_restored_under_a_running_program(tmp_path: Path) -> None:
    run_command("verify", data=tmp_path)
    run_command("backup", tmp_path / "kept.db", data=tmp_path)
    before = (tmp_path / "strikewell.db").read_bytes()
    with hold_folder(tmp_path):
        answer = run_command("restore", tmp_path / "kept.db", data=tmp_path)
    assert answer.code == 1
    assert "already running" in answer.err
    assert (tmp_path / "strikewell.db").read_bytes() == before


def test_an_empty_folder_has_nothing_to_back_up(tmp_path: Path) -> None:
    answer = run_command("backup", tmp_path / "kept.db", data=tmp_path)
    assert answer.code == 1
    assert "There is no log" in answer.err
    assert not (tmp_path / "kept.db").exists()
