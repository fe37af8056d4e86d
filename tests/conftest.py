"""What every test may ask for: a clock that stands still, a fresh database, and its people."""

from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from shutil import copyfile

import pytest
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import HealthCheck, settings
from sqlalchemy.orm import Session

from app import create_app
from app.clock import FixedClock
from app.domain.people import Actor, Role
from app.services.passwords import hash_password
from app.services.sign_in import begin_session
from app.settings import Settings
from app.store.migrating import migrate
from app.store.models.accounts import Account
from app.store.models.people import Person
from app.store.session import Database
from tests.web.page_checks import CheckingClient

# How long a machine takes says nothing of the program: no test is to fail for it.
settings.register_profile(
    "any machine", deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("any machine")

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
TODAY = date(2026, 11, 25)
PASSWORD = "mist bench in the morning"
_PEOPLE = {Role.HEAD: "Ines Farrow", Role.TRAINEE: "Tomas Quill", Role.MANAGER: "Ada Marsh"}


def _add_person(session: Session, role: Role, name: str, password_hash: str) -> None:
    person = Person(key=f"key-of-{role}", name=name, name_key=name.casefold())
    session.add(person)
    session.flush()
    account = Account(person_id=person.id, role=role, made_at=NOW, password_hash=password_hash)
    session.add(account)


@pytest.fixture
def clock() -> FixedClock:
    return FixedClock(NOW)


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated database with one person per role, copied for each test that needs one."""
    path = tmp_path_factory.mktemp("template") / "strikewell.db"
    migrate(path)
    database = Database(path, journal="TRUNCATE")
    password_hash = hash_password(PASSWORD)
    with database.writing() as session:
        for role, name in _PEOPLE.items():
            _add_person(session, role, name, password_hash)
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


@pytest.fixture(autouse=True)
def _push_request_context() -> None:
    """Stand in for the plugin's own, which would share one `g` among all requests of a test."""


@pytest.fixture
def app(database: Database, clock: FixedClock) -> Iterator[Flask]:
    """The application on the test's database; forms need no token (see `guarded_app`)."""
    settings = Settings(data=database.path.parent, secret_key="for tests only", testing=True)
    app = create_app(settings, clock=clock)
    app.config["WTF_CSRF_ENABLED"] = False
    app.test_client_class = CheckingClient
    yield app
    app.extensions["strikewell"].database.close()


@pytest.fixture
def guarded_app(app: Flask) -> Flask:
    """The application as it runs for people: every form needs its token."""
    app.config["WTF_CSRF_ENABLED"] = True
    return app


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()


@pytest.fixture
def sign_in(
    app: Flask, client: FlaskClient, database: Database, clock: FixedClock
) -> Callable[[Role], FlaskClient]:
    """Sign the test's browser in as the person of a role, without going through the door."""

    def enter(role: Role) -> FlaskClient:
        with database.writing() as session:
            account_id = list(_PEOPLE).index(role) + 1
            token = begin_session(session, account_id=account_id, now=clock.now())
        with client.session_transaction() as cookie:
            cookie.clear()
            cookie["_user_id"] = token
        return client

    return enter
