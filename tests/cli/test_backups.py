"""`backup FILE` and `restore FILE`."""

from pathlib import Path

from app.domain.people import Actor
from app.store.folder_lock import hold_folder
from app.store.session import Database
from tests.cli.running import Answer, run_command
from tests.migrations.rows import contents
from tests.services.check_records import check, said, stick
from tests.services.photograph_records import photograph


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


def _with_photographs(data: Path, head: Actor) -> set[str]:
    """Add photographs to a check of a log and return the names of all its files."""
    database = Database(data / "strikewell.db")
    with database.writing() as session:
        found = check(session, head, stick(session, head), said(1, rooted=3))
        for seed in (1, 2):
            folder = data / "photographs"
            photograph(session, head, folder, seed=seed, check_id=found.check_id)
    database.close()
    return _names(data)


def _names(folder: Path) -> set[str]:
    return {path.name for path in (folder / "photographs").iterdir()}


def test_photographs_travel_beside_the_copy_and_come_back(database: Database, head: Actor) -> None:
    data = database.path.parent
    names = _with_photographs(data, head)
    stick_of_usb = data / "stick"
    stick_of_usb.mkdir()
    answer = run_command("backup", stick_of_usb, data=data)
    assert answer.code == 0
    assert f"carry both: {stick_of_usb / 'photographs'}" in answer.out
    assert _names(stick_of_usb) == names
    new = data / "new PC"
    (copy,) = stick_of_usb.glob("*.db")
    answer = run_command("restore", copy, data=new)
    assert (answer.code, answer.err) == (0, "")
    assert "4 files of photographs came with it." in answer.out
    assert _names(new) == names
    assert run_command("verify", data=new).code == 0


def test_copies_of_one_folder_share_the_photographs(database: Database, head: Actor) -> None:
    data = database.path.parent
    _with_photographs(data, head)
    away = data / "away"
    run_command("backup", away / "first.db", data=data)
    before = {path: path.stat().st_mtime_ns for path in (away / "photographs").iterdir()}
    with database.writing() as session:
        photograph(session, head, data / "photographs", seed=3, check_id=1)
    names = _names(data)
    run_command("backup", away / "second.db", data=data)
    assert _names(away) == names
    assert all(path.stat().st_mtime_ns == at for path, at in before.items())


def test_a_missing_photograph_is_told_and_keeps_nothing_else_back(
    database: Database, head: Actor
) -> None:
    data = database.path.parent
    names = _with_photographs(data, head)
    lost = data / "photographs" / min(names)
    lost.unlink()
    answer: Answer = run_command("backup", data / "away" / "kept.db", data=data)
    assert answer.code == 1
    assert "1 files of photographs are missing or damaged" in answer.err
    assert _names(data / "away") == names - {lost.name}
    new = data / "new PC"
    answer = run_command("restore", data / "away" / "kept.db", data=new)
    assert answer.code == 1
    assert "1 files of photographs are missing: put the folder" in answer.err
    assert (new / "strikewell.db").is_file()
    answer = run_command("verify", data=new)
    assert answer.code == 1
    assert f"Its file {lost.name} is missing." in answer.out


def test_what_the_folder_holds_stays_at_a_restore(database: Database, head: Actor) -> None:
    data = database.path.parent
    run_command("backup", data / "before.db", data=data)
    names = _with_photographs(data, head)
    assert run_command("restore", data / "before.db", data=data).code == 0
    assert _names(data) == names
