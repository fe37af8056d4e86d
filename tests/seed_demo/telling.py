"""Telling the demo's story for tests."""

from datetime import date
from pathlib import Path

from app.services.databases import prepare_database
from app.settings import Settings
from app.store.session import Database
from seed_demo.story import DEMO_SEED, tell_story
from tests.conftest import NOW, TODAY


def tell(
    folder: Path, *, today: date = TODAY, seed: int = DEMO_SEED, days: int | None = None
) -> Path:
    """Tell a story into a folder and return its database."""
    settings = Settings(data=folder, secret_key="0")
    prepare_database(settings, now=NOW)
    database = Database(settings.database_path)
    more = {} if days is None else {"days": days}
    tell_story(database, today=today, seed=seed, **more)
    database.close()
    return settings.database_path
