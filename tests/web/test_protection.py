"""What stands round every request: host names, headers, sizes and form tokens."""

import re
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pytest
from flask import Flask, request
from flask.testing import FlaskClient
from sqlalchemy import func, select, text

from app import create_app
from app.domain.people import Role
from app.settings import Settings
from app.store.models.people import Person
from app.store.session import Database
from app.web.addresses import is_own_address, own_addresses
from app.web.permissions import allow_anyone
from app.web.protection import FORM_BYTES, upload_limit
from app.web.requests import OPEN_TOO_LONG, db
from tests.conftest import PASSWORD

SignIn = Callable[[Role], FlaskClient]

# The policy as it was agreed, written out once more so that a change of it is noticed.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
ADA = {"name": "Rhea Holm", "role": "", "notes": "mornings only"}


def _people(database: Database) -> int:
    with database.reading() as session:
        return session.scalar(select(func.count()).select_from(Person)) or 0


@pytest.mark.parametrize(
    ("path", "host", "status"),
    [
        ("/sign-in", "localhost", 200),
        ("/people", "localhost", 303),
        ("/nowhere", "localhost", 404),
        ("/static/mark.svg", "localhost", 200),
        ("/sign-in", "elsewhere.example", 400),
    ],
)
def test_headers_are_on_every_answer(
    client: FlaskClient, path: str, host: str, status: int
) -> None:
    with client.get(path, headers={"Host": host}) as answer:
        assert answer.status_code == status
        assert answer.headers["Content-Security-Policy"] == POLICY
        assert answer.headers["Referrer-Policy"] == "same-origin"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["X-Frame-Options"] == "DENY"


def test_pages_are_not_kept_by_the_browser_but_static_files_are(client: FlaskClient) -> None:
    assert client.get("/sign-in").headers["Cache-Control"] == "no-store"
    with client.get("/static/mark.svg") as answer:
        assert "max-age" in answer.headers["Cache-Control"]


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(guarded_app: Flask) -> None:
    cookie = guarded_app.test_client().get("/sign-in").headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie


@pytest.mark.parametrize("host", ["localhost", "127.0.0.1", "localhost:8321", "127.0.0.1:8321"])
def test_this_pc_may_ask(client: FlaskClient, host: str) -> None:
    assert client.get("/sign-in", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    [
        "elsewhere.example",
        "localhost.elsewhere.example",
        "under_score.example",
        "192.0.2.7",
        "[::1]",
        "127.0.0.1@elsewhere.example",
    ],
)
def test_a_foreign_name_leads_nowhere(client: FlaskClient, host: str) -> None:
    answer = client.get("/sign-in", headers={"Host": host})
    assert answer.status_code == 400
    assert "does not answer under this name" in answer.text


def test_names_from_the_settings_may_ask(database: Database) -> None:
    folder = database.path.parent
    settings = Settings(data=folder, secret_key="x", trusted_hosts=("bench.example",))
    app = create_app(settings)
    named = app.test_client().get("/sign-in", headers={"Host": "bench.example"})
    assert named.status_code == 200
    app.extensions["strikewell"].database.close()


def test_on_the_network_an_address_given_later_is_let_in(
    database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = create_app(Settings(data=database.path.parent, secret_key="x", lan=True))
    client = app.test_client()
    asked = {"Host": "192.0.2.44:8321"}
    assert client.get("/sign-in", headers=asked).status_code == 400
    monkeypatch.setattr("app.web.addresses.is_own_address", lambda host: host == "192.0.2.44")
    assert client.get("/sign-in", headers=asked).status_code == 200
    assert client.get("/sign-in", headers={"Host": "a.example"}).status_code == 400
    app.extensions["strikewell"].database.close()


def test_an_own_address_is_told_from_others() -> None:
    assert is_own_address("127.0.0.1")
    assert all(is_own_address(address) for address in own_addresses())
    nobodys = ["198.51.100.9", "255.255.255.255", "224.0.0.1", "localhost", ""]
    nobodys.append("0.0.0.0")  # noqa: S104 - asked about, not bound
    assert not [address for address in nobodys if is_own_address(address)]


def test_a_form_has_its_limit_and_a_view_may_have_another(app: Flask, client: FlaskClient) -> None:
    @allow_anyone
    @upload_limit(100_000)
    def take() -> dict[str, int]:
        return {"bytes": len(request.files["sheet"].read())}

    app.add_url_rule("/take", "take", take, methods=["POST"])
    app.config["MAX_CONTENT_LENGTH"] = 50_000
    large = client.post("/sign-in", data={"name": "x" * 50_001})
    assert large.status_code == 413
    assert "too large" in large.text
    fits = client.post("/take", data={"sheet": (BytesIO(b"x" * 100_000), "a.csv")})
    assert fits.json == {"bytes": 100_000}
    too_large = client.post("/take", data={"sheet": (BytesIO(b"x" * 200_000), "a.csv")})
    assert too_large.status_code == 413


def test_a_failed_token_shows_the_form_again_filled_and_writes_nothing(
    guarded_app: Flask, sign_in: SignIn, database: Database
) -> None:
    head = sign_in(Role.HEAD)
    before = _people(database)
    for token in ({}, {"csrf_token": "made up"}):
        page = head.post("/people/new", data=ADA | token)
        assert page.status_code == 422
        assert OPEN_TOO_LONG in page.text
        assert "mornings only" in page.text
        assert 'value="Rhea Holm"' in page.text
    assert _people(database) == before
    fresh = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', page.text.partition("<main")[2])
    assert fresh
    answer = head.post("/people/new", data=ADA | {"csrf_token": fresh[1]})
    assert answer.status_code == 303
    assert _people(database) == before + 1


def test_a_button_with_a_failed_token_asks_for_one_more_press(
    guarded_app: Flask, sign_in: SignIn, database: Database
) -> None:
    page = sign_in(Role.HEAD).post("/people/key-of-trainee/shut-out", data={"extra": "kept"})
    assert page.status_code == 422
    assert "Do it now" in page.text
    assert 'name="extra" value="kept"' in page.text
    with database.reading() as session:
        assert session.scalar(text("SELECT count(*) FROM accounts WHERE disabled_at IS NULL")) == 3


def test_no_view_can_write_with_a_failed_token(
    guarded_app: Flask, client: FlaskClient, database: Database
) -> None:
    @allow_anyone
    def careless() -> str:
        db().execute(text("UPDATE meta SET nursery = 'taken over'"))
        return "done"

    @allow_anyone
    def bold() -> str:
        from app.web.requests import database as own  # noqa: PLC0415 - the page's way in

        with own().writing() as session:
            session.execute(text("UPDATE meta SET nursery = 'taken over'"))
        return "done"

    guarded_app.add_url_rule("/careless", "careless", careless, methods=["POST"])
    guarded_app.add_url_rule("/bold", "bold", bold, methods=["POST"])
    for path in ("/careless", "/bold"):
        answer = client.post(path)
        assert answer.status_code == 400
        assert "had been open too long" in answer.text
    with database.reading() as session:
        assert session.scalar(text("SELECT nursery FROM meta")) == ""


@pytest.mark.parametrize("path", ["/sign-in", "/change-person", "/new-password"])
def test_the_way_in_is_shown_again_too(guarded_app: Flask, sign_in: SignIn, path: str) -> None:
    page = sign_in(Role.HEAD).post(path, data={"name": "Ada Marsh", "password": PASSWORD})
    assert page.status_code == 422
    assert OPEN_TOO_LONG in page.text
    assert 'value="Ada Marsh"' in page.text
    assert PASSWORD not in page.text


def test_signing_out_needs_its_token_too(guarded_app: Flask, sign_in: SignIn) -> None:
    head = sign_in(Role.HEAD)
    assert head.post("/sign-out").status_code == 400
    assert head.get("/people").status_code == 200


def test_as_it_runs_for_people_tokens_are_asked_for_and_do_not_run_out() -> None:
    config = create_app(Settings(data=Path("nowhere"), secret_key="x")).config
    assert config["WTF_CSRF_ENABLED"]
    assert config["WTF_CSRF_TIME_LIMIT"] is None
    assert config["MAX_CONTENT_LENGTH"] == FORM_BYTES == 512 * 1024


def test_two_logs_on_one_pc_sign_nobody_out_of_each_other(tmp_path: Path) -> None:
    # RFC 6265, section 8.5: browsers keep cookies by host, not by port (CONFIRMED).
    names = []
    for key in ("of the log", "of the demo"):
        app = create_app(Settings(data=tmp_path, secret_key=key, testing=True))
        names.append(app.config["SESSION_COOKIE_NAME"])
        app.extensions["strikewell"].database.close()
    assert len(set(names)) == 2
    assert not any("of the" in name for name in names)
