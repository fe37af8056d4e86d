"""One program per data folder."""

import subprocess
import sys
from pathlib import Path

import pytest

from app.store.folder_lock import FolderInUse, hold_folder
from tests.rules.sources import ROOT

HOLD = """
import sys
from pathlib import Path
from app.store.folder_lock import hold_folder
with hold_folder(Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.read()
"""


def test_a_second_program_is_refused_until_the_first_ends(tmp_path: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(tmp_path)],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "held\n"
        with pytest.raises(FolderInUse, match="already running"), hold_folder(tmp_path):
            pass
        # However it ends: a lock that outlives a crash would lock the nursery out.
        other.kill()
        other.wait()
    with hold_folder(tmp_path):
        held = (tmp_path / "strikewell.lock").is_file()
    assert held


def test_the_folder_is_free_after_the_block(tmp_path: Path) -> None:
    for _ in range(2):
        with hold_folder(tmp_path):
            pass
    with hold_folder(tmp_path), pytest.raises(FolderInUse), hold_folder(tmp_path):
        pass
