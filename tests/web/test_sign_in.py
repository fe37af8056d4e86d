"""The way in and out: sessions that really end, waits after wrong tries, typed text kept."""

import re
import sqlite3
from collections.abc import Callable
from datetime import timedelta

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import select, text
from sqlalchemy.exc import OperationalError

from app.clock import FixedClock
from app.domain.people import Role
from app.services.passwords import needs_rehash
from app.store.models.accounts import Account, SessionRow, SignInEvent
from app.store.session import Database
from app.web.arrivals import local_path
from tests.conftest import NOW, PASSWORD

SignIn = Callable[[Role], FlaskClient]
TOMAS = {"name": "Tomas Quill", "password": PASSWORD}
WRONG = {"name": "Tomas Quill", "password": "not that one at all"}


def _copy(app: Flask, client: FlaskClient) -> FlaskClient:
    """Return another browser with the same cookie, as somebody who copied it would have."""
    cookie = client.get_cookie(app.config["SESSION_COOKIE_NAME"])
    assert cookie
    thief = app.test_client()
    thief.set_cookie(cookie.key, cookie.value)
    return thief


def _is_in(client: FlaskClient) -> bool:
    return client.get("/own-password").status_code == 200


def test_name_and_password_lead_to_where_one_wanted_to_go(client: FlaskClient) -> None:
    asked = client.get("/own-password?x=1")
    assert (asked.status_code, asked.location) == (303, "/sign-in?next=/own-password?x%3D1")
    page = client.get(asked.location)
    assert 'name="next" type="hidden" value="/own-password?x=1"' in page.text
    answer = client.post("/sign-in", data=TOMAS | {"next": "/own-password?x=1"})
    assert (answer.status_code, answer.location) == (303, "/own-password?x=1")
    assert _is_in(client)


@pytest.mark.parametrize("name", ["tomas quill", "  TOMAS   Quill "])
def test_a_name_may_be_typed_in_any_case(client: FlaskClient, name: str) -> None:
    assert client.post("/sign-in", data=TOMAS | {"name": name}).status_code == 303


def test_a_wrong_password_and_an_unknown_name_say_the_same(client: FlaskClient) -> None:
    pages = [
        client.post("/sign-in", data=WRONG),
        client.post("/sign-in", data=WRONG | {"name": "Nobody Here"}),
    ]
    said = [re.findall(r"<li>([^<]*)</li>", page.text)[:1] for page in pages]
    assert [page.status_code for page in pages] == [422, 422]
    assert said[0] == said[1]
    assert "do not go together" in said[0][0]
    assert 'value="Nobody Here"' in pages[1].text
    assert "not that one" not in pages[0].text


def test_an_unknown_name_takes_a_comparison_as_well(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    compared: list[str] = []

    def compare(password_hash: str, *, password: str) -> bool:
        compared.append(password_hash)
        return False

    monkeypatch.setattr("app.web.pages.sign_in.password_matches", compare)
    client.post("/sign-in", data=WRONG | {"name": "Nobody Here"})
    assert compared == [""]


def test_passwords_are_compared_outside_any_transaction(
    app: Flask, client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    pool = app.extensions["strikewell"].database.engine.pool
    busy: list[int] = []

    def compare(_password_hash: str, *, password: str) -> bool:
        busy.append(pool.checkedout())
        return False

    monkeypatch.setattr("app.web.pages.sign_in.password_matches", compare)
    client.post("/sign-in", data=WRONG)
    assert busy == [0]


@pytest.mark.parametrize("end", ["sign out", "disable", "password", "erase"])
def test_a_copied_cookie_is_refused_after(app: Flask, end: str) -> None:
    own, head = app.test_client(), app.test_client()
    own.post("/sign-in", data=TOMAS)
    head.post("/sign-in", data={"name": "Ines Farrow", "password": PASSWORD})
    thief = _copy(app, own)
    assert _is_in(thief)
    if end == "sign out":
        own.post("/sign-out")
    elif end == "password":
        typed = {"password": PASSWORD, "new_password": "another wet morning"}
        assert own.post("/own-password", data=typed).status_code == 303
        assert _is_in(own)
    else:
        path = "shut-out" if end == "disable" else "erase"
        assert head.post(f"/people/key-of-trainee/{path}").status_code == 303
        assert not _is_in(own)
    assert not _is_in(thief)


def test_a_code_made_by_the_head_ends_the_old_sessions_too(app: Flask) -> None:
    own, head = app.test_client(), app.test_client()
    own.post("/sign-in", data=TOMAS)
    head.post("/sign-in", data={"name": "Ines Farrow", "password": PASSWORD})
    code = re.search(r"<code>(.*?)</code>", head.post("/people/key-of-trainee/code").text)
    assert code
    typed = {"name": "Tomas Quill", "code": code[1], "password": "another wet morning"}
    assert app.test_client().post("/new-password", data=typed).status_code == 303
    assert not _is_in(own)
    assert own.post("/sign-in", data=TOMAS).status_code == 422


def test_a_session_runs_out_after_12_idle_hours(
    sign_in: SignIn, clock: FixedClock, database: Database
) -> None:
    trainee = sign_in(Role.TRAINEE)
    clock.instant = NOW + timedelta(hours=12)
    assert _is_in(trainee)
    # That visit counted: another twelve hours from it.
    clock.instant = NOW + timedelta(hours=24)
    assert _is_in(trainee)
    clock.instant = NOW + timedelta(hours=36, seconds=1)
    assert not _is_in(trainee)


def test_being_seen_is_written_every_five_minutes_at_most(
    sign_in: SignIn, clock: FixedClock, database: Database
) -> None:
    def seen() -> timedelta:
        with database.reading() as session:
            return session.scalars(select(SessionRow.seen_at)).one() - NOW

    trainee = sign_in(Role.TRAINEE)
    found = []
    for minutes in (1, 4, 5, 9, 10):
        clock.instant = NOW + timedelta(minutes=minutes)
        trainee.get("/own-password")
        found.append(seen() // timedelta(minutes=1))
    assert found == [0, 0, 5, 5, 10]


def test_reading_goes_on_where_being_seen_cannot_be_written(
    sign_in: SignIn,
    clock: FixedClock,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    def refuse(*_anything: object, **_more: object) -> None:
        raise OperationalError("UPDATE", {}, sqlite3.OperationalError("database or disk is full"))

    trainee = sign_in(Role.TRAINEE)
    clock.instant = NOW + timedelta(minutes=30)
    monkeypatch.setattr("app.web.sessions.mark_seen", refuse)
    assert _is_in(trainee)
    assert "Could not note" in caplog.text


def test_only_a_hash_of_the_token_is_stored(client: FlaskClient, database: Database) -> None:
    client.post("/sign-in", data=TOMAS)
    with client.session_transaction() as cookie:
        token = cookie["_user_id"]
    database.close()
    assert token.encode() not in database.path.read_bytes()


def test_waits_double_after_five_wrong_tries_and_are_capped(
    client: FlaskClient, clock: FixedClock
) -> None:
    waits = []
    for number in range(1, 18):
        page = client.post("/sign-in", data=WRONG)
        assert "do not go together" in page.text
        # Even the right password has to wait, and asking again does not lengthen the wait.
        for _ in range(2):
            page = client.post(
                "/sign-in", data=TOMAS if number > 4 else {"name": "", "password": ""}
            )
        waits.append(_wait(page.text))
        clock.instant += timedelta(seconds=waits[-1])
    assert waits[:5] == [0, 0, 0, 0, 2]
    assert waits[5:13] == [4, 8, 16, 32, 64, 180, 300, 540]
    assert set(waits[13:]) == {900}
    clock.instant += timedelta(seconds=1)
    assert client.post("/sign-in", data=TOMAS).status_code == 303


def _wait(page: str) -> int:
    found = re.search(r"Wait (\d+) (second|minute)", page)
    if found is None:
        return 0
    return int(found[1]) * (60 if found[2] == "minute" else 1)


def test_an_unknown_name_is_slowed_down_alike(client: FlaskClient) -> None:
    for _ in range(5):
        client.post("/sign-in", data=WRONG | {"name": "Nobody Here"})
    page = client.post("/sign-in", data=WRONG | {"name": "Nobody Here"})
    assert "Wait 2 seconds" in page.text


def test_a_colleague_at_another_place_is_not_shut_out(
    app: Flask, client: FlaskClient, clock: FixedClock
) -> None:
    for _ in range(12):
        client.post("/sign-in", data=WRONG)
        clock.instant += timedelta(minutes=15)
    elsewhere = app.test_client()
    there = {"REMOTE_ADDR": "192.0.2.20"}
    assert elsewhere.post("/sign-in", data=TOMAS, environ_overrides=there).status_code == 303


def test_guessing_one_name_from_many_places_is_slowed_down_a_little(
    app: Flask, client: FlaskClient
) -> None:
    for number in range(24):
        place = {"REMOTE_ADDR": f"192.0.2.{number}"}
        client.post("/sign-in", data=WRONG, environ_overrides=place)
    page = client.post("/sign-in", data=TOMAS, environ_overrides={"REMOTE_ADDR": "192.0.2.99"})
    assert 0 < _wait(page.text) <= 60


def test_a_right_try_forgives_the_wrong_ones(client: FlaskClient) -> None:
    for _ in range(4):
        client.post("/sign-in", data=WRONG)
    assert client.post("/sign-in", data=TOMAS).status_code == 303
    assert "do not go together" in client.post("/sign-in", data=WRONG).text


def test_no_typed_name_is_kept_of_a_wrong_try(client: FlaskClient, database: Database) -> None:
    client.post("/sign-in", data=WRONG)
    client.post("/sign-in", data={"name": PASSWORD, "password": "Tomas Quill"})
    with database.reading() as session:
        marks = session.scalars(select(SignInEvent.name_key).order_by(SignInEvent.id)).all()
    assert marks[0] == "key-of-trainee"
    assert re.fullmatch(r"unknown [0-9a-f]{8}", marks[1])


def test_a_hash_of_an_older_cost_is_renewed(client: FlaskClient, database: Database) -> None:
    from argon2 import PasswordHasher  # noqa: PLC0415 - only to make an old hash

    old = PasswordHasher(time_cost=1, memory_cost=8192, parallelism=1).hash(PASSWORD)
    with database.writing() as session:
        session.execute(text("UPDATE accounts SET password_hash = :old"), {"old": old})
    assert client.post("/sign-in", data=TOMAS).status_code == 303
    with database.reading() as session:
        stored = session.scalars(select(Account.password_hash).where(Account.person_id == 2)).one()
    assert stored != old
    assert not needs_rehash(stored)


def test_the_next_person_takes_over_and_the_one_before_is_out(
    app: Flask, client: FlaskClient
) -> None:
    client.post("/sign-in", data={"name": "Ines Farrow", "password": PASSWORD})
    before = _copy(app, client)
    page = client.get("/change-person?next=/people").text
    assert [name for name in ("Ada Marsh", "Ines Farrow", "Tomas Quill") if name in page]
    refused = client.post("/change-person", data=WRONG)
    assert refused.status_code == 422
    assert "checked" in refused.text
    assert "Choose your name." in client.post("/change-person", data={"password": PASSWORD}).text
    assert client.get("/people").status_code == 200
    answer = client.post("/change-person", data=TOMAS | {"next": "/own-password"})
    assert (answer.status_code, answer.location) == (303, "/own-password")
    assert client.get("/people").status_code == 403
    assert not _is_in(before)


def test_what_was_typed_survives_a_session_that_ran_out(
    guarded_app: Flask, sign_in: SignIn, clock: FixedClock, database: Database
) -> None:
    head = sign_in(Role.HEAD)
    clock.instant = NOW + timedelta(hours=13)
    typed = {"name": "Rhea Holm", "role": "", "notes": "mornings <only>", "post_key": "k" * 24}
    page = head.post("/people/new", data=typed)
    assert page.status_code == 401
    assert "What you typed is kept" in page.text
    sent = _fields(page.text) | {"name": "Ines Farrow", "password": PASSWORD}
    assert sent["next"] == "/people/new"
    carried = head.post("/sign-in", data=sent)
    assert carried.status_code == 200
    shown = head.post("/people/new", data=_fields(carried.text))
    assert shown.status_code == 422
    assert "mornings &lt;only&gt;" in shown.text
    assert "Nothing is lost" in shown.text
    saved = head.post("/people/new", data=typed | {"csrf_token": _fields(shown.text)["csrf_token"]})
    assert saved.status_code == 303


def test_a_password_is_never_carried_along(client: FlaskClient) -> None:
    page = client.post("/own-password", data={"password": "secret one", "new_password": "secret 2"})
    assert page.status_code == 401
    assert "secret" not in page.text


def _fields(page: str) -> dict[str, str]:
    from html import unescape  # noqa: PLC0415 - only here

    main = page.partition("<main")[2]
    found: dict[str, str] = {}
    for tag in re.findall(r"<input[^>]*>", main):
        name, value = (re.search(rf'{word}="([^"]*)"', tag) for word in ("name", "value"))
        if name:
            found[name[1]] = unescape(value[1]) if value else ""
    return found


@pytest.mark.parametrize(
    ("address", "led_to"),
    [
        ("/batches?on=today", "/batches?on=today"),
        (None, "/"),
        ("", "/"),
        ("https://elsewhere.example/", "/"),
        ("//elsewhere.example/", "/"),
        ("/\\elsewhere.example", "/"),
        ("/a\\b", "/"),
        ("/a\nb", "/"),
        ("batches", "/"),
    ],
)
def test_nobody_is_led_out_of_the_log(address: str | None, led_to: str) -> None:
    assert local_path(address) == led_to
