"""What every test may ask for: a clock that stands still, a fresh database, and its people."""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from shutil import copyfile

import pytest
from sqlalchemy.orm import Session

from app.clock import FixedClock
from app.domain.people import Actor, Role
from app.store.migrating import migrate
from app.store.models.accounts import Account
from app.store.models.people import Person
from app.store.session import Database

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
TODAY = date(2026, 11, 25)
_PEOPLE = {Role.HEAD: "Ines Farrow", Role.TRAINEE: "Tomas Quill", Role.MANAGER: "Ada Marsh"}


def _add_person(session: Session, role: Role, name: str) -> None:
    person = Person(key=f"key-of-{role}", name=name, name_key=name.casefold())
    session.add(person)
    session.flush()
    session.add(Account(person_id=person.id, role=role, made_at=NOW))


@pytest.fixture
def clock() -> FixedClock:
    return FixedClock(NOW)


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated database with one person per role, copied for each test that needs one."""
    path = tmp_path_factory.mktemp("template") / "strikewell.db"
    migrate(path)
    database = Database(path, journal="TRUNCATE")
    with database.writing() as session:
        for role, name in _PEOPLE.items():
            _add_person(session, role, name)
    database.close()
    return path


@pytest.fixture
def database(migrated_file: Path, tmp_path: Path) -> Iterator[Database]:
    path = tmp_path / "strikewell.db"
    copyfile(migrated_file, path)
    database = Database(path)
    yield database
    database.close()


@pytest.fixture
def session(database: Database) -> Iterator[Session]:
    """A writing session that is rolled back after the test."""
    session = database.open_session(write=True)
    yield session
    session.close()


def _actor(role: Role) -> Actor:
    place = list(_PEOPLE).index(role) + 1
    return Actor(person_id=place, person_key=f"key-of-{role}", name=_PEOPLE[role], role=role)


@pytest.fixture
def head() -> Actor:
    return _actor(Role.HEAD)


@pytest.fixture
def trainee() -> Actor:
    return _actor(Role.TRAINEE)


@pytest.fixture
def manager() -> Actor:
    return _actor(Role.MANAGER)
