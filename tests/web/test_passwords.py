"""A new password: by the old one, or by a one-time code."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from flask import Flask
from flask.testing import FlaskClient

from app.clock import FixedClock
from app.domain.people import Role
from app.services.one_time_codes import make_code
from app.store.session import Database
from tests.conftest import NOW, PASSWORD

SignIn = Callable[[Role], FlaskClient]
NEW = "three wet mornings"


@pytest.fixture
def code(database: Database) -> str:
    with database.writing() as session:
        return make_code(session, actor=None, account_id=2, now=NOW)


def test_an_own_password_is_changed(sign_in: SignIn, app: Flask) -> None:
    trainee = sign_in(Role.TRAINEE)
    typed = {"password": PASSWORD, "new_password": NEW}
    answer = trainee.post("/own-password", data=typed)
    assert (answer.status_code, answer.location) == (303, "/")
    assert "Your new password holds" in trainee.get("/own-password").text
    door = {"name": "Tomas Quill"}
    assert app.test_client().post("/sign-in", data=door | {"password": NEW}).status_code == 303
    old = app.test_client().post("/sign-in", data=door | {"password": PASSWORD})
    assert old.status_code == 422


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"password": "wrong one", "new_password": NEW}, "password", "not your password"),
        ({"password": PASSWORD, "new_password": "short"}, "new_password", "at least 10"),
        ({"password": PASSWORD, "new_password": ""}, "new_password", "Type the password"),
    ],
)
def test_what_is_wrong_stands_beside_its_field(
    sign_in: SignIn, typed: dict[str, str], field: str, said: str
) -> None:
    page = sign_in(Role.TRAINEE).post("/own-password", data=typed)
    assert page.status_code == 422
    assert said in page.text.partition(f'id="{field}-error"')[2]
    assert NEW not in page.text


def test_guessing_the_old_password_of_somebody_signed_in_is_slowed_down(sign_in: SignIn) -> None:
    trainee = sign_in(Role.TRAINEE)
    for _ in range(5):
        trainee.post("/own-password", data={"password": "wrong one", "new_password": NEW})
    page = trainee.post("/own-password", data={"password": PASSWORD, "new_password": NEW})
    assert "Wait 2 seconds" in page.text


def test_a_code_works_once(client: FlaskClient, code: str) -> None:
    typed = {"name": "Tomas Quill", "code": code, "password": NEW}
    assert client.get("/new-password").status_code == 200
    assert client.post("/new-password", data=typed).status_code == 303
    assert client.get("/own-password").status_code == 200
    again = client.post("/new-password", data=typed | {"password": "another password"})
    assert again.status_code == 422
    assert "do not go together" in again.text


def test_a_code_lasts_an_hour(client: FlaskClient, code: str, clock: FixedClock) -> None:
    typed = {"name": "Tomas Quill", "code": code, "password": NEW}
    clock.instant = NOW + timedelta(minutes=60)
    assert client.post("/new-password", data=typed).status_code == 422


@pytest.mark.parametrize("name", ["Ada Marsh", "Nobody Here"])
def test_a_code_is_one_persons(client: FlaskClient, code: str, name: str) -> None:
    page = client.post("/new-password", data={"name": name, "code": code, "password": NEW})
    assert page.status_code == 422
    assert "Name and code do not go together" in page.text


def test_a_poor_password_does_not_use_the_code_up(client: FlaskClient, code: str) -> None:
    typed = {"name": "Tomas Quill", "code": code, "password": "tomasquill99"}
    page = client.post("/new-password", data=typed)
    assert "first things anybody would try" in page.text
    assert client.post("/new-password", data=typed | {"password": NEW}).status_code == 303


def test_a_new_code_ends_the_one_before(client: FlaskClient, code: str, database: Database) -> None:
    with database.writing() as session:
        newer = make_code(session, actor=None, account_id=2, now=NOW)
    typed = {"name": "Tomas Quill", "password": NEW}
    assert client.post("/new-password", data=typed | {"code": code}).status_code == 422
    assert client.post("/new-password", data=typed | {"code": newer}).status_code == 303


def test_a_code_of_somebody_shut_out_does_not_work(
    client: FlaskClient, code: str, sign_in: SignIn
) -> None:
    sign_in(Role.HEAD).post("/people/key-of-trainee/shut-out")
    typed = {"name": "Tomas Quill", "code": code, "password": NEW}
    assert client.post("/new-password", data=typed).status_code == 422
