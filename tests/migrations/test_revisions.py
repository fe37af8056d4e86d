"""Every revision up, down and up again with data in it; and nothing half done."""

import ast
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, event

from app.store.migrating import (
    BASE,
    DatabaseIsNewer,
    MigrationFailed,
    NotALog,
    migrate,
    migrations_folder,
    needs_migration,
    revision_of,
    revisions,
)
from tests.migrations.rows import contents, fill
from tests.migrations.schemas import schema_of, schema_of_models

REVISIONS = revisions()
STEPS = list(zip((BASE, *REVISIONS), REVISIONS, strict=False))


# Each liner lot from before it had stages of its own gets its potting up as one.
LOTS_HAVE_STAGES = next(
    path.name.split("_")[1] for path in (migrations_folder() / "versions").glob("*_liner_lots.py")
)
ADDED = {"liner_stages": 1}


class Injected(Exception):
    """The failure a test brings in."""


@contextmanager
def failing_at(step: int) -> Iterator[list[str]]:
    """Make the statement of this number fail; give the list of those that ran."""
    ran: list[str] = []

    def before(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        ran.append(statement)
        if len(ran) == step:
            raise Injected

    event.listen(Engine, "before_cursor_execute", before)
    try:
        yield ran
    finally:
        event.remove(Engine, "before_cursor_execute", before)


@pytest.mark.parametrize(("before", "revision"), STEPS)
def test_up_down_and_up_again_loses_nothing(tmp_path: Path, before: str, revision: str) -> None:
    path = tmp_path / "a.db"
    migrate(path, revision=revision)
    fill(path)
    here = contents(path)
    migrate(path)
    at_head = contents(path)
    added = ADDED if revision < LOTS_HAVE_STAGES else {}
    expected = {table: len(rows) + added.get(table, 0) for table, rows in here.items()}
    assert expected == {table: len(at_head[table]) for table in here}
    migrate(path, revision=before)
    below = contents(path)
    kept = {table: number for table, number in expected.items() if table in below}
    assert kept == {table: len(rows) for table, rows in below.items()}
    migrate(path)
    assert revision_of(path) == REVISIONS[-1]
    assert schema_of(path) == schema_of_models(tmp_path / "models.db")


def test_schema_is_that_of_the_models(tmp_path: Path) -> None:
    path = tmp_path / "a.db"
    migrate(path)
    made, meant = schema_of(path), schema_of_models(tmp_path / "models.db")
    assert sorted(made) == sorted(meant)
    assert {name: made[name] ^ meant[name] for name in made if made[name] != meant[name]} == {}


def test_there_is_one_line_of_revisions() -> None:
    files = sorted((migrations_folder() / "versions").glob("*.py"))
    assert len(files) == len(REVISIONS)
    assert [path.name.split("_")[1] for path in files] == list(REVISIONS)


def test_revisions_know_nothing_of_the_program() -> None:
    # A revision has to do the same in ten years, whatever the program has become.
    imported = {
        name.name if isinstance(node, ast.Import) else str(node.module)
        for path in (migrations_folder() / "versions").glob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Import | ast.ImportFrom)
        for name in node.names
    }
    assert imported <= {"sqlalchemy", "alembic"}


def test_every_constraint_has_a_name(tmp_path: Path) -> None:
    # SQLite rebuilds a table from what it can name; a nameless CHECK would be dropped.
    path = tmp_path / "a.db"
    migrate(path)
    nameless = [
        (table, part)
        for table, parts in schema_of(path).items()
        for part in parts
        if part.startswith(("CHECK", "FOREIGN KEY", "PRIMARY KEY", "UNIQUE"))
    ]
    assert nameless == []


@pytest.mark.parametrize(("before", "revision"), STEPS)
def test_a_failure_at_any_step_changes_nothing(tmp_path: Path, before: str, revision: str) -> None:
    path = tmp_path / "a.db"
    migrate(path, revision=before)
    fill(path)
    rows, schema = contents(path), schema_of(path)
    copy = tmp_path / "counted.db"
    copy.write_bytes(path.read_bytes())
    with failing_at(-1) as ran:
        migrate(copy, revision=revision)
    assert len(ran) > 3
    for step in range(1, len(ran) + 1, 3):
        with pytest.raises(Injected), failing_at(step):
            migrate(path, revision=revision)
        assert contents(path) == rows, f"after a failure at {ran[step - 1]}"
        assert schema_of(path) == schema
    migrate(path, revision=revision)
    assert revision_of(path) == revision


def test_triggers_are_made_anew(tmp_path: Path) -> None:
    path = tmp_path / "a.db"
    migrate(path, revision=REVISIONS[-2])
    migrate(path)
    fill(path)
    with closing(sqlite3.connect(path)) as connection:
        for table in ("history", "check_versions"):
            with pytest.raises(sqlite3.IntegrityError, match="only added to"):
                connection.execute(f"DELETE FROM {table}")


def test_rows_that_would_be_lost_stop_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.db"
    migrate(path, revision=REVISIONS[-2])
    fill(path)
    rows = contents(path)

    def forgetful(connection: Any, *_rest: Any) -> None:
        connection.exec_driver_sql("DELETE FROM containers")

    monkeypatch.setattr("app.store.migrating._run", forgetful)
    with pytest.raises(MigrationFailed, match="containers"):
        migrate(path)
    assert contents(path) == rows


def test_references_that_would_break_stop_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.db"
    migrate(path, revision=REVISIONS[-2])
    fill(path)
    rows = contents(path)

    def careless(connection: Any, *_rest: Any) -> None:
        connection.exec_driver_sql("UPDATE plant_names SET genus_id = 99")

    monkeypatch.setattr("app.store.migrating._run", careless)
    with pytest.raises(MigrationFailed, match="plant_names"):
        migrate(path)
    assert contents(path) == rows


def test_a_newer_database_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "a.db"
    migrate(path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = 'from the future'")
        connection.commit()
    whole = path.read_bytes()
    with pytest.raises(DatabaseIsNewer, match="newer"):
        migrate(path)
    assert path.read_bytes() == whole


@pytest.mark.parametrize("what", ["text", "another program's"])
def test_another_file_is_left_alone(tmp_path: Path, what: str) -> None:
    path = tmp_path / "a.db"
    if what == "text":
        path.write_text("batch,plant\n" * 500, encoding="utf-8")
    else:
        with closing(sqlite3.connect(path)) as connection:
            connection.execute("CREATE TABLE songs (id INTEGER)")
    whole = path.read_bytes()
    with pytest.raises(NotALog, match="not a log"):
        migrate(path)
    assert path.read_bytes() == whole


def test_a_second_run_does_nothing(tmp_path: Path) -> None:
    path = tmp_path / "a.db"
    assert needs_migration(path)
    assert migrate(path).changed
    assert not needs_migration(path)
    assert not migrate(path).changed
