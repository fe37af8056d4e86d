"""Imports go one way, and a start does not pay for what it does not use."""

import subprocess
import sys

import pytest

from tests.rules.sources import ROOT

HEAVY = ("numpy", "scipy", "pandas", "statsmodels", "hypothesis")


def _run(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *words], cwd=ROOT, capture_output=True, text=True, check=False
    )


def test_import_contracts_hold() -> None:
    code = (
        "from importlinter.cli import lint_imports;"
        "raise SystemExit(lint_imports(no_cache=True, no_logo=True))"
    )
    answer = _run("-c", code)
    assert answer.returncode == 0, answer.stdout + answer.stderr


@pytest.mark.parametrize(
    ("module", "unwanted"),
    [
        ("app.stats", ("flask", "sqlalchemy", *HEAVY)),
        ("app.domain", ("flask", "sqlalchemy", *HEAVY)),
        ("app.store.session", ("flask", *HEAVY)),
        ("app.cli.main", ("flask", "waitress", "alembic", *HEAVY)),
        ("app", ("flask", *HEAVY)),
    ],
)
def test_importing_loads_no_more_than_needed(module: str, unwanted: tuple[str, ...]) -> None:
    code = f"import sys, {module}; print(*(n for n in {unwanted!r} if n in sys.modules))"
    answer = _run("-c", code)
    assert answer.returncode == 0, answer.stderr
    assert answer.stdout.split() == []


def test_the_running_app_needs_no_numerical_library() -> None:
    code = f"import sys, app.web, app.cli.serve; print(*(n for n in {HEAVY!r} if n in sys.modules))"
    answer = _run("-c", code)
    assert answer.returncode == 0, answer.stderr
    assert answer.stdout.split() == []
