"""What was said to be saved is saved, whenever the program is killed."""

import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from app.store.backups import check_sound
from tests.rules.sources import ROOT

WRITE = """
import sys, threading
from datetime import UTC, datetime
from pathlib import Path
from app.services.history import record_change
from app.store.session import Database

database = Database(Path(sys.argv[1]), journal=sys.argv[2])
said = threading.Lock()

def write(who):
    for number in range(100_000):
        subject = f"bench {who}-{number}"
        with database.writing() as session:
            record_change(session, actor=None, now=datetime(2026, 11, 25, tzinfo=UTC),
                          what="bench walked", subject=subject, change={})
        with said:
            print(subject, flush=True)

for who in range(6):
    threading.Thread(target=write, args=(who,)).start()
"""


@pytest.mark.parametrize("journal", ["WAL", "TRUNCATE"])
@pytest.mark.parametrize("entries", [7, 60])
def test_a_kill_loses_nothing_acknowledged(
    migrated_file: Path, tmp_path: Path, journal: str, entries: int
) -> None:
    path = tmp_path / "log.db"
    path.write_bytes(migrated_file.read_bytes())
    with subprocess.Popen(
        [sys.executable, "-c", WRITE, str(path), journal],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
    ) as writers:
        assert writers.stdout is not None
        said = [writers.stdout.readline() for _ in range(entries)]
        writers.kill()
        said += writers.stdout.readlines()
    acknowledged = {line.strip() for line in said if line.endswith("\n")}
    check_sound(path)
    with closing(sqlite3.connect(path)) as connection:
        stored = {row[0] for row in connection.execute("SELECT subject FROM history")}
        length = connection.execute("SELECT history_length FROM meta").fetchone()[0]
    assert len(acknowledged) >= entries
    assert acknowledged <= stored
    # At most one entry per writer was on disk before it could be said.
    assert len(stored - acknowledged) <= 6
    assert length == len(stored)
