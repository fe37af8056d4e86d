"""Making a data folder ready: a database that is there, of this program's shape, and filled."""

from datetime import datetime
from typing import Final

from app.services.starting_data import load_starting_data
from app.settings import Settings
from app.store.backups import copy_database
from app.store.migrating import Migration, migrate, needs_migration, revision_of
from app.store.session import Database

STAMP: Final = "%Y-%m-%d-%H%M%S"


def prepare_database(settings: Settings, *, now: datetime) -> Migration:
    """Make or update the folder's database and return what was done.

    An older file is copied into the backups before it is changed. The caller holds the folder.

    Raises:
        DatabaseIsNewer: a newer program wrote it.
        NotALog: the file is something else.
        MigrationFailed: rows would have been lost; nothing was changed.
    """
    path = settings.database_path
    before = revision_of(path)
    if before is not None and needs_migration(path):
        copy = settings.backups / f"before-update-from-{before}-{now:{STAMP}}.db"
        copy_database(path, target=copy)
    done = migrate(path)
    if done.changed:
        _fill(settings, now=now)
    return done


def _fill(settings: Settings, *, now: datetime) -> None:
    database = Database(settings.database_path)
    try:
        with database.writing() as session:
            load_starting_data(session, now=now)
    finally:
        database.close()
