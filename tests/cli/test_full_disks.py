"""A full disk: a plain sentence, nothing half-written, and reading goes on."""

import signal
import subprocess
import sys
from pathlib import Path

import pytest
from sqlalchemy.exc import OperationalError

from app.services.history import record_change
from app.store.session import Database
from tests.cli.running import run_command
from tests.conftest import NOW
from tests.migrations.rows import contents
from tests.rules.sources import ROOT

# A limit on how large a file may grow stands for a disk with so much room left.
LIMITED = """
import resource, signal, sys
from app.cli.main import main
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (40_000, 40_000))
sys.exit(main(sys.argv[1:]))
"""


def test_a_backup_without_room_is_not_kept(tmp_path: Path) -> None:
    assert hasattr(signal, "SIGXFSZ"), "the limit that this test leans on is one of POSIX"
    run_command("verify", data=tmp_path / "data")
    kept = tmp_path / "kept"
    kept.mkdir()
    line = ["--data", str(tmp_path / "data"), "backup", str(kept / "copy.db")]
    answer = subprocess.run(
        [sys.executable, "-c", LIMITED, *line],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert answer.returncode == 1
    assert "could not be copied" in answer.stderr
    assert answer.stderr.count("\n") == 1
    assert list(kept.iterdir()) == []


def test_an_entry_without_room_is_not_half_written(database: Database) -> None:
    before = contents(database.path)
    with pytest.raises(OperationalError, match="full"), database.writing() as session:
        session.connection().exec_driver_sql("PRAGMA max_page_count = 1")
        for number in range(2_000):
            record_change(
                session, actor=None, now=NOW, what="x" * 99, subject=str(number), change={}
            )
    assert contents(database.path) == before
    with database.reading() as session:
        assert session.connection().exec_driver_sql("SELECT name FROM people").all()


def test_it_is_said_in_a_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_args: object) -> int:
        raise OperationalError("INSERT", {}, Exception("database or disk is full"))

    monkeypatch.setattr("app.cli.verifying.run", full)
    answer = run_command("verify", data=tmp_path)
    assert answer.code == 1
    assert answer.err == ("The log could not be read or written: database or disk is full.\n")
