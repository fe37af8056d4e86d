"""How a form is saved: once, whole, or not at all, and never over somebody else's work."""

import re
import threading
from collections.abc import Callable, Iterator
from datetime import timedelta

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import event, func, select, text

from app.clock import FixedClock
from app.domain.people import Role
from app.domain.permissions import Permission
from app.services.forms import KEPT_FOR
from app.store.models.forms import PostedForm
from app.store.models.people import Person
from app.store.session import Database
from app.web.permissions import allow, allow_anyone
from app.web.requests import actor, db, end_reading, now, today
from tests.conftest import NOW, TODAY

SignIn = Callable[[Role], FlaskClient]
RHEA = {"name": "Rhea Holm", "role": "", "notes": "", "post_key": "k" * 24}


def _count(database: Database, model: type) -> int:
    with database.reading() as session:
        return session.scalar(select(func.count()).select_from(model)) or 0


def _value(page: str, name: str) -> str:
    found = re.search(rf'name="{name}"[^>]*value="([^"]*)"', page.partition("<main")[2])
    assert found, f"no field {name}"
    return found[1]


def test_the_same_form_sent_twice_is_stored_once(sign_in: SignIn, database: Database) -> None:
    head = sign_in(Role.HEAD)
    before = _count(database, Person)
    first, second = (head.post("/people/new", data=RHEA) for _ in range(2))
    assert (first.status_code, first.location) == (second.status_code, second.location)
    assert first.status_code == 303
    assert _count(database, Person) == before + 1
    assert "The person is in the list now." in head.get(second.location).text


def test_the_same_key_with_other_content_is_asked_about(
    sign_in: SignIn, database: Database
) -> None:
    head = sign_in(Role.HEAD)
    head.post("/people/new", data=RHEA)
    page = head.post("/people/new", data=RHEA | {"name": "Otto Vane"})
    assert page.status_code == 422
    assert "already saved once, with other content" in page.text
    assert 'value="Otto Vane"' in page.text
    fresh = _value(page.text, "post_key")
    assert fresh != RHEA["post_key"]
    answer = head.post("/people/new", data=RHEA | {"name": "Otto Vane", "post_key": fresh})
    assert answer.status_code == 303


@pytest.mark.parametrize("other", ["person", "route"])
def test_a_key_counts_for_one_person_and_one_page(
    sign_in: SignIn, database: Database, other: str
) -> None:
    sign_in(Role.HEAD).post("/people/new", data=RHEA)
    if other == "person":
        with database.writing() as session:
            session.execute(text("UPDATE posted_forms SET person_id = 2"))
        page = sign_in(Role.HEAD).post("/people/new", data=RHEA)
    else:
        page = sign_in(Role.HEAD).post("/people/new?from=list", data=RHEA)
    assert page.status_code == 422


def test_a_form_that_was_refused_keeps_its_key(sign_in: SignIn) -> None:
    head = sign_in(Role.HEAD)
    page = head.post("/people/new", data=RHEA | {"name": ""})
    assert page.status_code == 422
    assert _value(page.text, "post_key") == RHEA["post_key"]
    assert head.post("/people/new", data=RHEA).status_code == 303


@pytest.mark.parametrize("key", ["short", "k" * 65, "with spaces in the key of it"])
def test_a_key_that_is_none_is_refused(sign_in: SignIn, key: str) -> None:
    page = sign_in(Role.HEAD).post("/people/new", data=RHEA | {"post_key": key})
    assert page.status_code == 422
    assert "was not complete" in page.text


def test_posted_forms_are_forgotten_after_400_days(
    sign_in: SignIn, database: Database, clock: FixedClock
) -> None:
    assert timedelta(days=400) == KEPT_FOR
    sign_in(Role.HEAD).post("/people/new", data=RHEA)
    clock.instant = NOW + timedelta(days=400)
    sign_in(Role.HEAD).post("/people/new", data=RHEA | {"name": "Otto Vane", "post_key": "o" * 24})
    assert _count(database, PostedForm) == 2
    clock.instant = NOW + timedelta(days=400, seconds=1)
    sign_in(Role.HEAD).post("/people/new", data=RHEA | {"name": "Mira Dell", "post_key": "m" * 24})
    with database.reading() as session:
        keys = session.scalars(select(PostedForm.key).order_by(PostedForm.key)).all()
    assert keys == ["m" * 24, "o" * 24]


def _at_once(number: int, send: Callable[[int], int]) -> list[int]:
    """Return the statuses of as many sendings begun together."""
    gate, statuses = threading.Barrier(number), [0] * number

    def one(place: int) -> None:
        gate.wait()
        statuses[place] = send(place)

    threads = [threading.Thread(target=one, args=(place,)) for place in range(number)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return statuses


def _copies(app: Flask, client: FlaskClient, number: int) -> list[FlaskClient]:
    """Return browsers with the same cookie as the one signed in."""
    cookie = client.get_cookie(app.config["SESSION_COOKIE_NAME"])
    assert cookie
    copies = [app.test_client() for _ in range(number)]
    for copy in copies:
        copy.set_cookie(cookie.key, cookie.value)
    return copies


def test_40_identical_posts_at_once_make_one_row(
    app: Flask, sign_in: SignIn, database: Database
) -> None:
    browsers = _copies(app, sign_in(Role.HEAD), 40)
    before = _count(database, Person)
    statuses = _at_once(
        40, lambda place: browsers[place].post("/people/new", data=RHEA).status_code
    )
    assert statuses == [303] * 40
    assert _count(database, Person) == before + 1
    assert _count(database, PostedForm) == 1


def test_of_20_editors_on_one_version_1_is_saved_and_19_are_told(
    app: Flask, sign_in: SignIn, database: Database
) -> None:
    browsers = _copies(app, sign_in(Role.HEAD), 20)

    def save(place: int) -> int:
        typed = {"name": f"Tomas Quill {place}", "role": "trainee", "version": "1"}
        return browsers[place].post("/people/key-of-trainee", data=typed).status_code

    statuses = _at_once(20, save)
    assert sorted(statuses) == [303] + [409] * 19
    with database.reading() as session:
        person = session.scalars(select(Person).where(Person.key == "key-of-trainee")).one()
    assert person.version == 2
    assert person.name == f"Tomas Quill {statuses.index(303)}"


def _second_editor(head: FlaskClient) -> str:
    typed = {"name": "Tomas Quillon", "role": "trainee", "version": "1"}
    assert head.post("/people/key-of-trainee", data=typed).status_code == 303
    typed = {"name": "Tom Quill", "role": "manager", "notes": "tall", "version": "1"}
    page = head.post("/people/key-of-trainee", data=typed | {"post_key": "s" * 24})
    assert page.status_code == 409
    return page.text


def test_the_second_editor_sees_both_versions_and_can_keep_the_stored_one(
    sign_in: SignIn,
) -> None:
    head = sign_in(Role.HEAD)
    page = " ".join(_second_editor(head).split())
    for stored, typed in [("Tomas Quillon", "Tom Quill"), ("trainee", "manager")]:
        assert f"<td>{stored}</td><td>{typed}</td>" in page
    assert '<a class="do" href="/people/key-of-trainee' in page
    assert 'value="Tomas Quillon"' in head.get("/people/key-of-trainee").text


def test_the_second_editor_can_save_over_it_knowingly(sign_in: SignIn, database: Database) -> None:
    head = sign_in(Role.HEAD)
    page = _second_editor(head)
    names = ("name", "role", "notes", "version", "post_key")
    typed = {name: _value(page, name) for name in names}
    assert (typed["version"], typed["post_key"]) == ("2", "s" * 24)
    assert head.post("/people/key-of-trainee", data=typed).status_code == 303
    with database.reading() as session:
        person = session.scalars(select(Person).where(Person.key == "key-of-trainee")).one()
    assert (person.name, person.notes, person.version) == ("Tom Quill", "tall", 3)


def test_the_second_editor_can_look_over_their_own_first(sign_in: SignIn) -> None:
    head = sign_in(Role.HEAD)
    page = _second_editor(head)
    names = ("name", "role", "notes", "version", "post_key")
    typed = {name: _value(page, name) for name in names}
    shown = head.post("/people/key-of-trainee", data=typed | {"look_again": "1"})
    assert shown.status_code == 200
    assert _value(shown.text, "name") == "Tom Quill"
    assert _value(shown.text, "version") == "2"
    assert 'value="Tomas Quillon"' in head.get("/people/key-of-trainee").text


@pytest.fixture
def begun(app: Flask) -> Iterator[list[str]]:
    """The statements by which the application's transactions began."""
    engine = app.extensions["strikewell"].database.engine
    found: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_rest: object) -> None:
        if statement.startswith("BEGIN"):
            found.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    yield found
    event.remove(engine, "before_cursor_execute", note)


def _route(app: Flask, view: Callable[[], object], *methods: str) -> None:
    name = view.__name__
    app.add_url_rule(f"/{name}", name, view, methods=list(methods))  # type: ignore[arg-type]


def test_a_post_begins_immediate_and_a_get_plainly(
    app: Flask, sign_in: SignIn, begun: list[str]
) -> None:
    @allow(Permission.READ)
    def look() -> dict[str, int]:
        return {"one": db().scalar(text("SELECT 1")) or 0}

    _route(app, look, "GET", "POST")
    trainee = sign_in(Role.TRAINEE)
    begun.clear()
    trainee.get("/look")
    assert set(begun) == {"BEGIN"}
    begun.clear()
    trainee.post("/look")
    # The first one only finds out who is signed in.
    assert begun == ["BEGIN", "BEGIN IMMEDIATE"]


def test_a_request_knows_its_person_its_day_and_its_instant(
    app: Flask, sign_in: SignIn, database: Database, clock: FixedClock
) -> None:
    @allow(Permission.READ)
    def who() -> list[str]:
        return [actor().name, today().isoformat(), now().isoformat()]

    _route(app, who, "GET")
    trainee = sign_in(Role.TRAINEE)
    assert trainee.get("/who").json == ["Tomas Quill", TODAY.isoformat(), NOW.isoformat()]
    with database.writing() as session:
        session.execute(text("UPDATE meta SET zone = 'Pacific/Auckland'"))
    clock.instant = NOW + timedelta(hours=3)
    # 12:00 UTC is one hour into the next day there, with summer time.
    assert (trainee.get("/who").json or [])[1] == "2026-11-26"


def test_the_writers_turn_is_given_back_whatever_happens(
    app: Flask, client: FlaskClient, database: Database
) -> None:
    @allow_anyone
    def fail() -> str:
        db().execute(text("UPDATE meta SET nursery = 'half'"))
        raise ZeroDivisionError

    _route(app, fail, "POST")
    app.config["PROPAGATE_EXCEPTIONS"] = False
    for _ in range(3):
        assert client.post("/fail").status_code == 500
    assert not app.extensions["strikewell"].database._lock._held
    with database.reading() as session:
        assert session.scalar(text("SELECT nursery FROM meta")) == ""


def test_a_page_can_end_its_reading_before_it_is_drawn(app: Flask, client: FlaskClient) -> None:
    @allow_anyone
    def report() -> dict[str, bool]:
        db().scalar(text("SELECT 1"))
        before = db().in_transaction()
        end_reading()
        return {"before": before, "after": db().in_transaction()}

    _route(app, report, "GET")
    assert client.get("/report").json == {"before": True, "after": False}


def test_importing_arithmetic_loads_no_web_framework() -> None:
    import subprocess  # noqa: PLC0415 - a fresh interpreter is the point
    import sys  # noqa: PLC0415 - as above

    asked = "import sys, app.stats; print('flask' in sys.modules, 'numpy' in sys.modules)"
    told = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert told.stdout.split() == ["False", "False"]
