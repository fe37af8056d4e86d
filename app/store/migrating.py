"""Bringing a database up to this program's tables.

A revision runs with foreign keys off (a batch change would delete the child rows of a cascading
key), all in one transaction on one connection; before it is committed the foreign keys and the
row counts are looked at and the triggers are made anew.
"""

from pathlib import Path
from typing import Final

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, inspect, text

from app.store.triggers import create_triggers

_IN_WHEEL: Final = Path(__file__).parent.parent / "_migrations"
_IN_CHECKOUT: Final = Path(__file__).parent.parent.parent / "migrations"


class DatabaseIsNewer(Exception):
    """The database was made by a newer program than this one."""


class MigrationFailed(Exception):
    """A migration would have lost or broken something; nothing of it was kept."""


def alembic_config() -> Config:
    """Return Alembic's settings, with the revisions of the wheel or of the checkout."""
    config = Config()
    folder = _IN_WHEEL if _IN_WHEEL.is_dir() else _IN_CHECKOUT
    config.set_main_option("script_location", str(folder).replace("%", "%%"))
    return config


def newest_revision() -> str:
    """Return the revision this program's tables are at."""
    return str(ScriptDirectory.from_config(alembic_config()).get_current_head())


def current_revision(engine: Engine) -> str | None:
    """Return the revision the database is at, None for an empty one."""
    with engine.connect() as connection:
        return MigrationContext.configure(connection).get_current_revision()


def needs_migration(engine: Engine) -> bool:
    """Return whether the database is older than this program.

    Raises:
        DatabaseIsNewer: its revision is not known here.
    """
    current = current_revision(engine)
    known = {
        script.revision for script in ScriptDirectory.from_config(alembic_config()).walk_revisions()
    }
    if current is not None and current not in known:
        raise DatabaseIsNewer(
            "This database was made by a newer Strikewell. Install that version, or restore an "
            "older backup. Nothing was changed."
        )
    return current != newest_revision()


def migrate(engine: Engine, *, revision: str = "head") -> None:
    """Bring the database to the revision, or leave it exactly as it was.

    Raises:
        MigrationFailed: rows went missing or a reference would point nowhere.
        DatabaseIsNewer: as for `needs_migration`.
    """
    needs_migration(engine)
    with engine.connect() as connection:
        driver = connection.connection.driver_connection
        if driver is None:
            raise MigrationFailed("The database could not be opened.")
        driver.execute("PRAGMA foreign_keys = OFF")
        try:
            with connection.begin():
                _run(connection, revision)
        finally:
            driver.execute("PRAGMA foreign_keys = ON")


def _run(connection: Connection, revision: str) -> None:
    before = _row_counts(connection)
    config = alembic_config()
    config.attributes["connection"] = connection
    _drop_triggers(connection)
    upwards = revision == "head" or _is_ahead(connection, revision)
    (command.upgrade if upwards else command.downgrade)(config, revision)
    _look_over(connection, before)
    if "history" in inspect(connection).get_table_names():
        create_triggers(connection)


def _is_ahead(connection: Connection, revision: str) -> bool:
    current = MigrationContext.configure(connection).get_current_revision()
    if current is None:
        return True
    if revision == "base":
        return False
    script = ScriptDirectory.from_config(alembic_config())
    return any(found.revision == current for found in script.walk_revisions("base", revision))


def _drop_triggers(connection: Connection) -> None:
    names = connection.scalars(text("SELECT name FROM sqlite_master WHERE type = 'trigger'")).all()
    for name in names:
        connection.execute(text(f'DROP TRIGGER "{name}"'))


def _row_counts(connection: Connection) -> dict[str, int]:
    tables = [name for name in inspect(connection).get_table_names() if name != "alembic_version"]
    count = "SELECT COUNT(*) FROM "
    return {name: int(connection.scalar(text(f'{count}"{name}"')) or 0) for name in tables}


def _look_over(connection: Connection, before: dict[str, int]) -> None:
    broken = connection.execute(text("PRAGMA foreign_key_check")).first()
    if broken is not None:
        raise MigrationFailed(f"A line of {broken[0]} would point to nothing. Nothing was kept.")
    after = _row_counts(connection)
    fewer = sorted(name for name, rows in before.items() if after.get(name, rows) < rows)
    if fewer:
        raise MigrationFailed(f"Lines of {', '.join(fewer)} would be lost. Nothing was kept.")
