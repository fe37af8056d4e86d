"""`serve`: what it says at the start, to whom it listens, and what it refuses."""

import re
import socket
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from app.store.migrating import migrate, revisions
from tests.cli.running import run_command
from tests.rules.sources import ROOT


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def _serving(data: Path, *words: str) -> Iterator[tuple[subprocess.Popen[str], int, list[str]]]:
    """Start the command, give it with its port and what it said up to "Stop with Ctrl+C"."""
    port = _free_port()
    line = [sys.executable, "-m", "app", "--data", str(data), "serve", "--port", str(port), *words]
    with subprocess.Popen(
        line, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    ) as program:
        assert program.stdout is not None
        said = []
        for text in program.stdout:
            said.append(text.rstrip())
            if text.startswith(("The log lies", "Traceback")):
                break
        try:
            yield program, port, said
        finally:
            program.terminate()
            program.wait(timeout=20)
            program.stdout.close()


def test_first_start(tmp_path: Path) -> None:
    data = tmp_path / "data"
    with _serving(data) as (program, port, said):
        assert said[0] == f"Strikewell is open at http://127.0.0.1:{port}/"
        assert program.stdout is not None
        code = [program.stdout.readline() for _ in range(2)][1]
        assert re.search(r"[A-Z0-9]{4}-[A-Z0-9]{4}-[A-Z0-9]{4}", code), code
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=10) as page:
            assert page.status == 200
            assert b"Strikewell" in page.read()
    assert program.returncode == 0
    assert data.stat().st_mode & 0o077 == 0
    assert (data / "secret.key").stat().st_mode & 0o077 == 0
    assert sorted(path.suffix for path in (data / "backups").iterdir()) == [".db", ".db"]


def test_one_program_per_folder(tmp_path: Path) -> None:
    with _serving(tmp_path):
        answer = run_command("serve", "--port", str(_free_port()), data=tmp_path)
    assert answer.code == 1
    assert "already running" in answer.err


def test_a_port_in_use_is_said(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        line = [sys.executable, "-m", "app", "--data", str(tmp_path), "serve", "--port", str(port)]
        # In a program of its own: the server leaves its half-made sockets to the end.
        answer = subprocess.run(line, cwd=ROOT, capture_output=True, text=True, check=False)
    assert answer.returncode == 1
    assert answer.stderr.startswith(f"Nothing could be opened at port {port} (")
    assert "--port" in answer.stderr


def test_only_this_pc_is_listened_to(tmp_path: Path) -> None:
    with _serving(tmp_path) as (_program, port, _said), socket.socket() as other:
        # Another address of this PC stands for another device.
        other.settimeout(2)
        assert other.connect_ex(("127.0.0.2", port)) != 0


def test_lan_listens_to_others(tmp_path: Path) -> None:
    with _serving(tmp_path, "--lan") as (_program, port, said), socket.socket() as other:
        other.settimeout(2)
        assert other.connect_ex(("127.0.0.2", port)) == 0
    assert said[0].startswith("Strikewell is open at")


def test_an_older_log_is_backed_up_and_brought_up_to_date(tmp_path: Path) -> None:
    migrate(tmp_path / "strikewell.db", revision=revisions()[-2])
    with _serving(tmp_path):
        names = [path.name for path in (tmp_path / "backups").iterdir()]
    assert any(name.startswith(f"before-update-from-{revisions()[-2]}-") for name in names)
    assert run_command("verify", data=tmp_path).code == 0
