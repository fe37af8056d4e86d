"""`archive FILE` and `unarchive FILE`."""

import zipfile
from pathlib import Path

from app.store.folder_lock import hold_folder
from tests.cli.running import run_command
from tests.migrations.rows import contents, fill


def content_line(out: str) -> str:
    return next(line for line in out.splitlines() if line.startswith("Content: sha256:"))


def test_there_and_back(tmp_path: Path) -> None:
    data, kept, back = tmp_path / "data", tmp_path / "kept.zip", tmp_path / "back"
    made = run_command("archive", kept, data=data)
    assert made.code == 0
    read = run_command("unarchive", kept, data=back)
    assert read.code == 0
    assert content_line(read.out) == content_line(made.out)
    assert "strikewell new-code NAME" in read.out
    assert "The empty log as it was before" not in read.out
    assert contents(back / "strikewell.db") == contents(data / "strikewell.db")
    assert run_command("verify", data=back).code == 0


def test_an_empty_log_that_was_there_is_put_aside(tmp_path: Path) -> None:
    run_command("archive", tmp_path / "kept.zip", data=tmp_path)
    answer = run_command("unarchive", tmp_path / "kept.zip", data=tmp_path)
    assert "before-unarchive-2026-11-25-090000.db" in answer.out
    assert (tmp_path / "backups" / "before-unarchive-2026-11-25-090000.db").is_file()


def test_an_archive_can_be_made_while_the_log_is_served(tmp_path: Path) -> None:
    run_command("verify", data=tmp_path)
    with hold_folder(tmp_path):
        assert run_command("archive", tmp_path / "kept.zip", data=tmp_path).code == 0


def test_nothing_is_read_back_under_a_running_program(tmp_path: Path) -> None:
    run_command("archive", tmp_path / "kept.zip", data=tmp_path)
    with hold_folder(tmp_path):
        answer = run_command("unarchive", tmp_path / "kept.zip", data=tmp_path)
    assert answer.code == 1
    assert "already running" in answer.err


def test_what_is_no_archive_is_refused_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "kept.zip").write_bytes(b"no archive")
    answer = run_command("unarchive", tmp_path / "kept.zip", data=tmp_path / "data")
    assert answer.code == 1
    assert "is not an archive of Strikewell" in answer.err
    assert not (tmp_path / "data" / "strikewell.db").exists()


def test_a_missing_photograph_is_named(tmp_path: Path) -> None:
    run_command("verify", data=tmp_path)
    fill(tmp_path / "strikewell.db")
    answer = run_command("archive", tmp_path / "kept.zip", data=tmp_path)
    assert answer.code == 1
    sentence = f"The photograph {'a' * 64} is missing or damaged on the disk and was left out."
    assert sentence in answer.err
    with zipfile.ZipFile(tmp_path / "kept.zip") as archive:
        assert archive.testzip() is None
