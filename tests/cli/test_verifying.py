"""`verify` from the command line."""

import sqlite3
from contextlib import closing
from pathlib import Path

from app.store.folder_lock import hold_folder
from tests.cli.running import run_command


def test_a_sound_log_is_said_to_be_so(tmp_path: Path) -> None:
    answer = run_command("verify", data=tmp_path)
    assert (answer.code, answer.err) == (0, "")
    assert answer.out == "Every figure agrees with the checks, and the history is whole.\n"


def test_what_differs_is_printed_and_left(tmp_path: Path) -> None:
    run_command("verify", data=tmp_path)
    with closing(sqlite3.connect(tmp_path / "strikewell.db")) as connection:
        connection.execute("UPDATE meta SET history_length = 1234")
        connection.execute("UPDATE hormones SET label = 'chalk' WHERE id = 1")
        connection.commit()
    before = (tmp_path / "strikewell.db").read_bytes()
    with hold_folder(tmp_path):
        answer = run_command("verify", data=tmp_path)
    assert answer.code == 1
    assert len(answer.out.splitlines()) == 2
    assert answer.out.startswith("hormone chalk: label is chalk;")
    assert "history: It has" in answer.out
    assert answer.err == "2 things do not agree. Nothing was changed.\n"
    assert (tmp_path / "strikewell.db").read_bytes() == before
