"""The command line as a whole: which commands there are and how they end."""

import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from app.cli.main import build_parser, main
from app.store.folder_lock import hold_folder
from app.store.migrating import migrate, revisions
from tests.cli.running import run_command
from tests.rules.sources import ROOT


def test_a_command_is_needed(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["--data", str(tmp_path)]) == 2
    assert "COMMAND" in capsys.readouterr().err


@pytest.mark.parametrize("words", [["stick"], ["serve", "--port", "0"], ["serve", "--port", "x"]])
def test_wrong_usage_ends_with_2(
    words: list[str], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert main(["--data", str(tmp_path / "not made"), *words]) == 2
    assert "usage: strikewell" in capsys.readouterr().err
    assert not (tmp_path / "not made").exists()


def test_help_ends_with_0(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    assert "--data FOLDER" in capsys.readouterr().out


def test_every_command_says_what_it_is_for() -> None:
    told = build_parser().format_help()
    for action in build_parser()._subparsers._group_actions:  # type: ignore[union-attr]
        names = set(action.choices or {})
        helped = {choice.dest for choice in action._choices_actions if choice.help}
        assert names == helped
        assert all(name in told for name in names)


def test_a_refusal_is_one_sentence_and_1(tmp_path: Path) -> None:
    answer = run_command("restore", tmp_path / "none.db", data=tmp_path)
    assert (answer.code, answer.out) == (1, "")
    assert answer.err == f"There is no file {tmp_path / 'none.db'}.\n"


def test_a_newer_log_is_refused(tmp_path: Path) -> None:
    migrate(tmp_path / "strikewell.db")
    with closing(sqlite3.connect(tmp_path / "strikewell.db")) as connection:
        connection.execute("UPDATE alembic_version SET version_num = 'later'")
        connection.commit()
    answer = run_command("verify", data=tmp_path)
    assert answer.code == 1
    assert "newer version of Strikewell" in answer.err
    assert answer.err.count("\n") == 1


def test_a_folder_that_is_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "here").write_text("", encoding="utf-8")
    answer = run_command("verify", data=tmp_path / "here")
    assert answer.code == 1
    assert str(tmp_path / "here") in answer.err


def test_an_old_log_in_use_is_not_changed(tmp_path: Path) -> None:
    migrate(tmp_path / "strikewell.db", revision=revisions()[-2])
    with hold_folder(tmp_path):
        answer = run_command("verify", data=tmp_path)
    assert answer.code == 1
    assert "already running" in answer.err
    assert run_command("verify", data=tmp_path).code == 0


def test_the_module_is_the_command(tmp_path: Path) -> None:
    words = [sys.executable, "-m", "app", "--data", str(tmp_path), "verify"]
    answer = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)
    assert answer.returncode == 0, answer.stderr
    assert "the history is whole" in answer.stdout


def test_a_reader_who_has_seen_enough_is_no_error(tmp_path: Path) -> None:
    script = (
        "import sys; from app.cli.main import main; from app.cli import verifying;"
        "verifying.run = lambda args, context: [context.say('x' * 99) for _ in range(9999)] and 0;"
        f"sys.exit(main(['--data', {str(tmp_path)!r}, 'verify']))"
    )
    with subprocess.Popen(
        [sys.executable, "-c", script],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as command:
        assert command.stdout is not None
        assert command.stderr is not None
        command.stdout.readline()
        command.stdout.close()
        assert command.stderr.read() == ""
        assert command.wait() == 0
