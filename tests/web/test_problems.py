"""Pages for what went wrong: plain words, a way back, a reference number, no trace."""

import re
import sqlite3
from collections.abc import Callable

import pytest
from flask import Flask, abort
from flask.testing import FlaskClient
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError, OperationalError

from app.domain.people import Role
from app.domain.permissions import Permission
from app.domain.problems import NotAllowed, NotFound
from app.store.fair_lock import TooBusy
from app.store.session import Database
from app.web.permissions import allow, allow_anyone
from app.web.requests import db

SignIn = Callable[[Role], FlaskClient]


def _failing(app: Flask, error: BaseException) -> None:
    @allow_anyone
    def fail() -> str:
        raise error

    app.add_url_rule("/fail", "fail", fail, methods=["GET", "POST"])


def _refused(said: str) -> OperationalError:
    return OperationalError("INSERT", {}, sqlite3.OperationalError(said))


@pytest.mark.parametrize("status", [400, 401, 403, 404, 405, 413, 415, 422, 500, 503])
def test_every_status_has_a_page_with_a_way_back(
    app: Flask, client: FlaskClient, status: int
) -> None:
    @allow_anyone
    def fail() -> str:
        abort(status)

    app.add_url_rule("/fail", "fail", fail)
    page = client.get("/fail")
    assert page.status_code == status
    assert re.search(r"Reference [0-9A-F]{8} ", page.text)
    assert '<a class="do" href="/">' in page.text
    assert "Traceback" not in page.text
    # None of the library's own sentences, which are for developers.
    assert "The server" not in page.text
    assert "requested URL" not in page.text


def test_a_sentence_of_our_own_is_shown(app: Flask, client: FlaskClient) -> None:
    _failing(app, NotFound("There is no batch 26-9999 in this log."))
    page = client.get("/fail")
    assert page.status_code == 404
    assert "There is no batch 26-9999" in page.text


def test_what_a_rule_does_not_allow_is_said_as_403(app: Flask, client: FlaskClient) -> None:
    _failing(app, NotAllowed("Only the head corrects what others wrote."))
    page = client.get("/fail")
    assert page.status_code == 403
    assert "Only the head corrects" in page.text


def test_a_role_that_is_refused_is_named_with_a_way_on(app: Flask, sign_in: SignIn) -> None:
    page = sign_in(Role.TRAINEE).get("/people")
    assert page.status_code == 403
    assert "trainee" in page.text
    assert Permission.KEEP_PEOPLE.value in page.text
    assert "/change-person" in page.text


def test_a_fault_is_logged_under_the_number_that_the_page_shows(
    app: Flask, client: FlaskClient, caplog: pytest.LogCaptureFixture
) -> None:
    app.config["PROPAGATE_EXCEPTIONS"] = False
    _failing(app, ZeroDivisionError("division by a secret"))
    page = client.get("/fail")
    assert page.status_code == 500
    reference = re.search(r"Reference ([0-9A-F]{8})", page.text)
    assert reference
    assert reference[1] in caplog.text
    assert "ZeroDivisionError" in caplog.text
    assert "secret" not in page.text


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ("database or disk is full", "disk of this PC is full"),
        ("disk I/O error", "did not take the entry"),
        ("database is locked", "Another program holds"),
        ("attempt to write a readonly database", "cannot be written to"),
    ],
)
def test_trouble_with_the_file_is_said_plainly(
    app: Flask, client: FlaskClient, said: str, sentence: str
) -> None:
    _failing(app, _refused(said))
    page = client.post("/fail")
    assert page.status_code == 503
    assert sentence in page.text
    assert "Nothing of this step was saved" in page.text


def test_other_trouble_with_the_database_is_a_fault(
    app: Flask, client: FlaskClient, caplog: pytest.LogCaptureFixture
) -> None:
    _failing(app, _refused("no such table: batches"))
    page = client.get("/fail")
    assert page.status_code == 500
    assert "no such table" not in page.text
    assert "no such table" in caplog.text


def test_a_full_disk_leaves_nothing_half_written_and_reading_goes_on(
    app: Flask, sign_in: SignIn, database: Database
) -> None:
    store = app.extensions["strikewell"].database
    head = sign_in(Role.HEAD)

    @allow(Permission.STICK)
    def fill() -> str:
        db().execute(text("UPDATE meta SET nursery = 'half'"))
        db().execute(text("CREATE TABLE large AS SELECT zeroblob(100000000)"))
        return "filled"

    app.add_url_rule("/fill", "fill", fill, methods=["POST"])
    with store.engine.connect() as connection:
        pages = connection.scalar(text("PRAGMA page_count"))
        # One connection is enough for requests that come one after another.
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages + 10}")
    page = head.post("/fill")
    assert page.status_code == 503
    assert "disk of this PC is full" in page.text
    assert head.get("/people").status_code == 200
    with database.reading() as session:
        assert session.scalar(text("SELECT nursery FROM meta")) == ""


def test_too_many_at_once_is_said_plainly(app: Flask, client: FlaskClient) -> None:
    _failing(app, TooBusy("Too many people are saving at once. Nothing was saved."))
    page = client.post("/fail")
    assert page.status_code == 503
    assert "Too many people" in page.text


@pytest.mark.parametrize(
    ("error", "status", "said"),
    [
        (_refused("database is locked"), 503, "Another program holds"),
        (DatabaseError("", {}, sqlite3.DatabaseError("malformed")), 500, "Something went wrong"),
    ],
)
def test_the_page_asks_a_broken_database_nothing(
    app: Flask,
    sign_in: SignIn,
    monkeypatch: pytest.MonkeyPatch,
    error: DatabaseError,
    status: int,
    said: str,
) -> None:
    def refuse(*_anything: object, **_more: object) -> None:
        raise error

    app.config["PROPAGATE_EXCEPTIONS"] = False

    trainee = sign_in(Role.TRAINEE)
    monkeypatch.setattr("app.web.sessions.find_open_session", refuse)
    monkeypatch.setattr("app.web.requests.get_nursery", refuse)
    page = trainee.get("/own-password")
    assert page.status_code == status
    assert said in page.text
