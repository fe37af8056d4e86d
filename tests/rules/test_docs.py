"""The docs are complete: whatever a person can type, set, ask for or read stands in them."""

import argparse
import re
from pathlib import Path

import pytest
from flask import Flask

import app.store.models  # noqa: F401 - makes every table known
from app.cli.main import build_parser
from app.store.base import Base
from tests.rules.sources import ROOT, files, listed, shown

DOCS = ROOT / "docs"
_SETTING = re.compile(r"\b(?:STRIKEWELL|REQUIRE|BROWSER)_[A-Z]+\b")


def _page(name: str) -> str:
    return (DOCS / name).read_text(encoding="utf-8")


def _commands() -> dict[str, argparse.ArgumentParser]:
    actions = build_parser()._actions
    return next(
        dict(action.choices) for action in actions if isinstance(action, argparse._SubParsersAction)
    )


def test_every_command_and_option_is_documented() -> None:
    using = _page("using.md")
    missing = []
    for name, parser in _commands().items():
        if f"strikewell {name}" not in using:
            missing.append(f"strikewell {name}")
        missing += [
            f"strikewell {name} {option}"
            for action in parser._actions
            for option in action.option_strings
            if option.startswith("--") and option != "--help" and f"`{option}" not in using
        ]
    assert not missing, listed("Say in docs/using.md what these do:", missing)


def test_every_setting_is_documented() -> None:
    named = {
        setting
        for path in files("app", "tests/journeys", suffix=".py")
        for setting in _SETTING.findall(path.read_text(encoding="utf-8"))
    }
    docs = _page("using.md") + (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    missing = sorted(setting for setting in named if f"`{setting}" not in docs)
    assert "STRIKEWELL_DATA" in named
    assert not missing, listed("Say in docs/using.md or DEVELOPERS.md what these do:", missing)


def test_every_page_is_documented(app: Flask) -> None:
    using = _page("using.md")
    missing = sorted(
        {rule.rule for rule in app.url_map.iter_rules() if f"`{rule.rule}`" not in using}
    )
    assert not missing, listed("Say in docs/using.md what these addresses are for:", missing)


def test_no_page_is_documented_that_is_gone(app: Flask) -> None:
    known = {rule.rule for rule in app.url_map.iter_rules()}
    told = set(re.findall(r"^\| `(/[^`]*)`", _page("using.md"), re.MULTILINE))
    assert not told - known, listed("No longer there:", sorted(told - known))


def _described() -> dict[str, set[str]]:
    """Return the columns that docs/data.md describes, by table."""
    found: dict[str, set[str]] = {}
    table = ""
    for line in _page("data.md").splitlines():
        if line.startswith("### `"):
            table = line.split("`")[1]
            found[table] = set()
        elif table and (column := re.match(r"\| `(\w+)` \| \S", line)):
            found[table].add(column[1])
        elif line.startswith("#"):
            table = ""
    return found


def test_every_table_and_column_is_described() -> None:
    described = _described()
    stored = {
        table.name: {column.name for column in table.columns}
        for table in Base.metadata.sorted_tables
    }
    missing = [
        f"{table}.{column}"
        for table, columns in stored.items()
        for column in sorted(columns - described.get(table, set()))
    ]
    gone = [
        f"{table}.{column}"
        for table, columns in described.items()
        for column in sorted(columns - stored.get(table, set()))
    ]
    assert not missing, listed("Describe in docs/data.md:", missing)
    assert not gone, listed("docs/data.md describes what is not stored:", gone)


def test_the_clean_run_types_what_the_readme_says() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    run = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    commands = [
        line
        for block in re.findall(r"```sh\n(.*?)```", readme, re.DOTALL)
        for line in block.splitlines()
        if "-m venv .venv" in line
    ]
    assert len(commands) == 2, "README.md has one command to try it and one to test it"
    install, tests = commands
    assert install.endswith("&& .venv/bin/strikewell demo")
    assert install.removesuffix(" && .venv/bin/strikewell demo") in run
    assert tests in run


@pytest.mark.parametrize("page", [*sorted(DOCS.rglob("*.md")), *sorted(ROOT.glob("*.md"))])
def test_links_lead_somewhere(page: Path) -> None:
    links = re.findall(r"\]\(([^)#\s]+)[^)]*\)", page.read_text(encoding="utf-8"))
    own = [link for link in links if "://" not in link and not link.startswith("mailto:")]
    broken = [link for link in own if not (page.parent / link).exists()]
    assert not broken, listed(f"{shown(page)} links to what is not there:", broken)


def test_decisions_are_numbered() -> None:
    numbers = [path.name[:4] for path in sorted((DOCS / "decisions").glob("*.md"))]
    assert numbers == [f"{number:04}" for number in range(1, len(numbers) + 1)]
