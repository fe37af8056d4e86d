"""Every page with every role: what a view's mark says is what happens, and a mark there must be.

The routes are taken from the application itself, so that a new page is tried without being named.
"""

import re
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from shutil import copyfile

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.routing import Rule

from app import create_app
from app.clock import FixedClock
from app.domain.people import Actor, Role
from app.domain.permissions import Permission, allowed
from app.services.sign_in import begin_session
from app.settings import Settings
from app.web.permissions import allow, allow_anyone, permission_of
from tests.conftest import NOW
from tests.services.check_records import check, said, stick
from tests.services.photograph_records import photograph

# A calendar is read at a secret address; what it tells stands on the page that makes one.
OPEN_TO_ANYONE = {
    "calendar_feeds.read",
    "first_start.show",
    "passwords.redeem",
    "sign_in.sign_in",
    "sign_in.sign_out",
    "static",
}
SECRET = {"calendar_feeds.read"}
# What somebody who only reads may still send: nothing but what concerns their own
# sign-in and their own calendar.
OWN_AFFAIRS = {
    "calendar_feeds.end",
    "calendar_feeds.renew",
    "calendar_feeds.show_all",
    "passwords.change",
    "sign_in.change_person",
    "sign_in.sign_out",
}
READING = {Permission.READ, Permission.SEE_EVERYBODY, Permission.EXPORT}
# By converter and by name: a record that is not there, and one that is the head's.
FOREIGN = {
    "int": ("999999", "1"),
    "code": ("26-9999", "26-0001"),
    "key": ("no-such-person", "key-of-head"),
}
ELSE = ("no-such-record", "1")
ACCOUNTS = {Role.HEAD: 1, Role.TRAINEE: 2, Role.MANAGER: 3}


def _settings(data: Path) -> Settings:
    return Settings(data=data, secret_key="for tests only", testing=True)


def _rules() -> list[Rule]:
    app = create_app(_settings(Path("nowhere")))
    return [rule for rule in app.url_map.iter_rules() if rule.endpoint != "static"]


@dataclass(frozen=True, kw_only=True)
class Visit:
    """One address asked by one method."""

    endpoint: str
    method: str
    address: str


def _address(rule: Rule, *, place: int) -> str:
    def filled(found: re.Match[str]) -> str:
        return FOREIGN.get(found["converter"] or found["name"], ELSE)[place]

    return re.sub(r"<(?:(?P<converter>\w+)(?:\([^)]*\))?:)?(?P<name>\w+)>", filled, rule.rule)


def _visits() -> list[Visit]:
    visits = []
    for rule in _rules():
        for address in sorted({_address(rule, place=place) for place in (0, 1)}):
            visits += [
                Visit(endpoint=rule.endpoint, method=method, address=address)
                for method in sorted((rule.methods or set()) & {"GET", "POST", "PUT", "DELETE"})
            ]
    return visits


@pytest.fixture(scope="module")
def one_app(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    """One application for all visits, with a batch of the head's and a check of it."""
    folder = tmp_path_factory.mktemp("visits")
    copyfile(migrated_file, folder / "strikewell.db")
    app = create_app(_settings(folder), clock=FixedClock(NOW))
    app.config["WTF_CSRF_ENABLED"] = False
    head = Actor(person_id=1, person_key="key-of-head", name="Ines Farrow", role=Role.HEAD)
    with app.extensions["strikewell"].database.writing() as session:
        batch = stick(session, head)
        found = check(session, head, batch, said(7, rooted=3))
        photograph(session, head, folder / "photographs", check_id=found.check_id)
    assert batch.code == FOREIGN["code"][1]
    yield app
    app.extensions["strikewell"].database.close()


def _browser(app: Flask, role: Role | None) -> FlaskClient:
    client = app.test_client()
    if role is not None:
        with app.extensions["strikewell"].database.writing() as session:
            token = begin_session(session, account_id=ACCOUNTS[role], now=NOW)
        with client.session_transaction() as cookie:
            cookie["_user_id"] = token
    return client


@pytest.fixture(scope="module")
def watcher(one_app: Flask) -> Iterator[sqlite3.Connection]:
    """A connection of its own, which notices when anybody else commits."""
    connection = sqlite3.connect(one_app.extensions["strikewell"].database.path)
    yield connection
    connection.close()


def _commits(watcher: sqlite3.Connection) -> int:
    return int(watcher.execute("PRAGMA data_version").fetchone()[0])


@pytest.mark.parametrize("role", [None, *Role], ids=str)
@pytest.mark.parametrize("visit", _visits(), ids=lambda visit: f"{visit.method} {visit.address}")
def test_every_page_answers_whom_it_may(
    one_app: Flask, watcher: sqlite3.Connection, visit: Visit, role: Role | None
) -> None:
    client = _browser(one_app, role)
    permission = permission_of(one_app.view_functions[visit.endpoint])
    before = _commits(watcher)
    answer = client.open(visit.address, method=visit.method)
    answer.close()
    changed = _commits(watcher) != before
    if permission is None:
        # A secret that opens nothing is answered to everybody alike.
        opened = {404} if visit.endpoint in SECRET else {200, 303, 422}
        assert answer.status_code in opened
    elif role is None:
        assert answer.status_code == (303 if visit.method == "GET" else 401)
        if visit.method == "GET":
            assert answer.location.startswith("/sign-in?next=")
        assert not changed
    elif not allowed(role, permission):
        assert answer.status_code == 403
        assert not changed
    elif permission is Permission.CORRECT_OWN and role is Role.TRAINEE:
        # Everything here is the head's.
        assert answer.status_code in {403, 404, 422}
        assert not changed
    else:
        assert answer.status_code in {200, 302, 303, 400, 404, 409, 422}
        assert not (changed and visit.method == "GET")


def test_every_view_says_whom_it_is_for() -> None:
    app = create_app(_settings(Path("nowhere")))
    silent = []
    for rule in app.url_map.iter_rules():
        try:
            permission_of(app.view_functions[rule.endpoint])
        except LookupError:
            silent.append(f"{rule.rule} ({rule.endpoint})")
    assert not silent, f"Put @allow(Permission...) below the route of: {', '.join(silent)}"


def test_only_the_way_in_is_open_to_anyone() -> None:
    app = create_app(_settings(Path("nowhere")))
    views = app.view_functions
    assert {name for name in views if permission_of(views[name]) is None} == OPEN_TO_ANYONE


def test_a_page_that_changes_something_asks_for_more_than_reading() -> None:
    app = create_app(_settings(Path("nowhere")))
    lenient = {
        rule.endpoint
        for rule in app.url_map.iter_rules()
        if (rule.methods or set()) & {"POST", "PUT", "PATCH", "DELETE"}
        if permission_of(app.view_functions[rule.endpoint]) in READING
    }
    assert lenient <= OWN_AFFAIRS


def test_a_view_without_a_mark_answers_nobody(app: Flask, client: FlaskClient) -> None:
    app.add_url_rule("/unmarked", "unmarked", lambda: "secret")
    answer = client.get("/unmarked")
    assert answer.status_code == 403
    assert b"secret" not in answer.data


def test_marks_are_told_apart() -> None:
    @allow(Permission.STICK)
    def stick() -> str:
        return "stuck"

    @allow_anyone
    def door() -> str:
        return "open"

    assert permission_of(stick) is Permission.STICK
    assert permission_of(door) is None
    assert (stick(), door()) == ("stuck", "open")
