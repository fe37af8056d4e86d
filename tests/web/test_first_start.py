"""The first start: a code from the PC makes the first head, once."""

import threading
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from flask import Flask
from sqlalchemy import select

from app import create_app
from app.clock import FixedClock
from app.services.one_time_codes import make_first_code
from app.settings import Settings
from app.store.migrating import migrate
from app.store.models.accounts import Account
from app.store.models.history import HistoryLine
from app.store.queries.nursery import get_nursery
from app.store.session import Database
from tests.conftest import NOW

INES = {
    "name": "Ines Farrow",
    "password": "correct at first light",
    "nursery": "Alder Lane",
    "zone": "Europe/London",
}


@pytest.fixture
def new_app(tmp_path: Path, clock: FixedClock) -> Iterator[Flask]:
    """The application on a database nobody has been in yet."""
    settings = Settings(data=tmp_path, secret_key="for tests only", testing=True)
    migrate(settings.database_path)
    app = create_app(settings, clock=clock)
    app.config["WTF_CSRF_ENABLED"] = False
    yield app
    app.extensions["strikewell"].database.close()


@pytest.fixture
def new_database(new_app: Flask) -> Database:
    database: Database = new_app.extensions["strikewell"].database
    return database


@pytest.fixture
def code(new_database: Database) -> str:
    with new_database.writing() as session:
        code = make_first_code(session, now=NOW)
    assert code
    return code


def test_the_way_in_leads_to_the_first_start(new_app: Flask) -> None:
    client = new_app.test_client()
    assert client.get("/people").location == "/sign-in?next=/people"
    assert client.get("/sign-in").location == "/first-start"
    page = client.get("/first-start")
    assert page.status_code == 200
    assert '<option value="Europe/London">' in page.text


def test_the_code_makes_the_first_head_who_is_signed_in(
    new_app: Flask, new_database: Database, code: str
) -> None:
    client = new_app.test_client()
    answer = client.post("/first-start", data=INES | {"code": code.lower().replace("-", " ")})
    assert (answer.status_code, answer.location) == (303, "/")
    page = client.get("/people").text
    assert "Ines Farrow" in page
    assert "Alder Lane" in page
    with new_database.reading() as session:
        nursery = get_nursery(session)
        account = session.scalars(select(Account)).one()
        lines = session.scalars(select(HistoryLine.what).order_by(HistoryLine.sequence)).all()
    assert (nursery.name, nursery.zone) == ("Alder Lane", "Europe/London")
    assert account.role == "head"
    assert account.password_hash.startswith("$argon2id$")
    assert lines == ["person added", "first head made", "nursery changed"]


def test_the_page_is_shut_once_there_is_a_head(new_app: Flask, code: str) -> None:
    new_app.test_client().post("/first-start", data=INES | {"code": code})
    client = new_app.test_client()
    assert client.get("/first-start").location == "/sign-in"
    answer = client.post("/first-start", data=INES | {"code": code, "name": "Otto Vane"})
    assert answer.location == "/sign-in"


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"code": "ABCD-EFGH-JKMN"}, "This code does not work"),
        ({"code": ""}, "Type the code"),
        ({"password": "too short"}, "at least 10 characters"),
        ({"password": "ines farrow 1"}, "first things anybody would try"),
        ({"name": "  "}, "Type the name as it is to stand"),
        ({"zone": "Europe/Nowhere"}, "Choose a time zone"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_stored(
    new_app: Flask, new_database: Database, code: str, changed: dict[str, str], said: str
) -> None:
    client = new_app.test_client()
    page = client.post("/first-start", data=INES | {"code": code} | changed)
    assert page.status_code == 422
    assert said in page.text
    with new_database.reading() as session:
        assert session.scalars(select(Account)).all() == []
    # The code was not used up by it.
    assert client.post("/first-start", data=INES | {"code": code}).status_code == 303


def test_a_code_lasts_an_hour(new_app: Flask, code: str, clock: FixedClock) -> None:
    clock.instant = NOW + timedelta(minutes=60)
    page = new_app.test_client().post("/first-start", data=INES | {"code": code})
    assert "This code does not work" in page.text


def test_guessing_the_code_is_slowed_down(new_app: Flask, code: str) -> None:
    client = new_app.test_client()
    for number in range(5):
        client.post("/first-start", data=INES | {"code": f"ABCD-EFGH-JKM{number}"})
    page = client.post("/first-start", data=INES | {"code": code})
    assert "Wait 2 seconds" in page.text


def test_two_at_once_make_one_head(new_app: Flask, new_database: Database, code: str) -> None:
    gate, statuses = threading.Barrier(2), []

    def begin(name: str) -> None:
        client = new_app.test_client()
        gate.wait()
        answer = client.post("/first-start", data=INES | {"code": code, "name": name})
        statuses.append(answer.status_code)

    threads = [
        threading.Thread(target=begin, args=(name,)) for name in ("Ines Farrow", "Otto Vane")
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with new_database.reading() as session:
        assert len(session.scalars(select(Account)).all()) == 1
    assert statuses.count(303) >= 1


def test_a_failed_token_shows_the_form_again(
    new_app: Flask, new_database: Database, code: str
) -> None:
    new_app.config["WTF_CSRF_ENABLED"] = True
    page = new_app.test_client().post("/first-start", data=INES | {"code": code})
    assert page.status_code == 422
    assert "Nothing is lost" in page.text
    assert f'value="{code}"' in page.text
    with new_database.reading() as session:
        assert session.scalars(select(Account)).all() == []
