"""Which tables an archive carries: all of them, but those left out with a reason."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

import app.store.models  # noqa: F401 - makes every table known
from app.domain.archives import ArchivedTable, CellKind
from app.store.archive_models import choices_by_column, json_types_by_column
from app.store.archive_tables import LEFT_OUT, LEFT_OUT_COLUMNS, list_tables
from app.store.base import Base
from app.store.migrating import migrate, revisions


@pytest.fixture
def tables(migrated_file: Path) -> dict[str, ArchivedTable]:
    with closing(sqlite3.connect(migrated_file)) as connection:
        return {table.name: table for table in list_tables(connection)}


def test_every_table_is_carried_or_left_out_with_a_reason(
    tables: dict[str, ArchivedTable],
) -> None:
    assert set(tables) | (set(LEFT_OUT) - {"alembic_version"}) >= set(Base.metadata.tables)
    assert set(tables) == set(Base.metadata.tables) - set(LEFT_OUT)
    assert all(len(reason) > 20 for reason in LEFT_OUT.values())


def test_every_column_is_carried_but_passwords(tables: dict[str, ArchivedTable]) -> None:
    for name, table in tables.items():
        columns = {column.name for column in Base.metadata.tables[name].columns}
        left_out = {column for owner, column in LEFT_OUT_COLUMNS if owner == name}
        assert set(table.names) == columns - left_out
    assert set(LEFT_OUT_COLUMNS) == {("accounts", "password_hash")}


def test_nothing_that_is_carried_points_to_what_is_left_out(
    tables: dict[str, ArchivedTable],
) -> None:
    for table in tables.values():
        assert {reference.table for reference in table.references} <= set(tables)
        assert table.key


def test_keys_references_and_kinds_are_those_of_the_models(
    tables: dict[str, ArchivedTable],
) -> None:
    for name, table in tables.items():
        model = Base.metadata.tables[name]
        assert set(table.key) == {column.name for column in model.primary_key}
        assert {reference.columns[0] for reference in table.references} == {
            key.parent.name for key in model.foreign_keys
        }
        assert {column.name for column in table.columns if column.required} == {
            column.name
            for column in model.columns
            if not column.nullable and (name, column.name) not in LEFT_OUT_COLUMNS
        }
    kinds = {column.name: column.kind for column in tables["batches"].columns}
    assert kinds["stuck_on"] is CellKind.DATE
    assert kinds["made_at"] is CellKind.INSTANT
    assert kinds["taken_over"] is CellKind.JSON
    assert kinds["wounded"] is CellKind.FLAG
    assert kinds["length_cm"] is CellKind.NUMBER


@pytest.mark.parametrize("revision", revisions())
def test_a_log_of_every_revision_tells_its_tables(tmp_path: Path, revision: str) -> None:
    migrate(tmp_path / "old.db", revision=revision)
    with closing(sqlite3.connect(tmp_path / "old.db")) as connection:
        names = {table.name for table in list_tables(connection)}
    assert "meta" in names
    assert not names & set(LEFT_OUT)


def test_listed_values_and_kinds_of_json_are_known() -> None:
    choices = choices_by_column()
    assert choices["accounts", "role"] == ("trainee", "head", "manager")
    assert choices["batch_facts", "open"] == (0, 1)
    kinds = json_types_by_column()
    assert kinds["batches", "taken_over"] == "array"
    assert set(kinds.values()) <= {"array", "object"}
