"""Pages of people: only the head's."""

import re
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient
from sqlalchemy import select, text

from app.domain.people import ERASED_NAME, Role
from app.store.models.accounts import Account, SessionRow
from app.store.models.history import HistoryLine
from app.store.models.people import Person
from app.store.session import Database

SignIn = Callable[[Role], FlaskClient]


def _person(database: Database, key: str) -> Person:
    with database.reading() as session:
        return session.scalars(select(Person).where(Person.key == key)).one()


def _key_of(database: Database, name: str) -> str:
    with database.reading() as session:
        return session.scalars(select(Person.key).where(Person.name == name)).one()


def _edit(client: FlaskClient, key: str, **changed: str) -> int:
    page = client.get(f"/people/{key}").text
    version = re.search(r'name="version"[^>]*value="(\d+)"', page)
    assert version
    typed = {"name": "Tomas Quill", "role": "trainee", "notes": "", "version": version[1]}
    return client.post(f"/people/{key}", data=typed | changed).status_code


def test_a_person_is_added_and_can_be_given_a_code(
    sign_in: SignIn, database: Database, client: FlaskClient
) -> None:
    head = sign_in(Role.HEAD)
    answer = head.post("/people/new", data={"name": "Rhea  Holm", "role": "trainee"})
    key = _key_of(database, "Rhea Holm")
    assert (answer.status_code, answer.location) == (303, f"/people/{key}")
    assert "has no password yet" in head.get("/people").text
    shown = head.post(f"/people/{key}/code").text
    code = re.search(r"<code>([A-Z2-9-]{14})</code>", shown)
    assert code
    entered = client.application.test_client().post(
        "/new-password",
        data={"name": "rhea holm", "code": code[1].lower(), "password": "three wet mornings"},
    )
    assert entered.status_code == 303


def test_a_person_without_sign_in_is_only_named(sign_in: SignIn, database: Database) -> None:
    head = sign_in(Role.HEAD)
    head.post("/people/new", data={"name": "Rhea Holm", "role": ""})
    assert "records only" in head.get("/people").text
    key = _key_of(database, "Rhea Holm")
    refused = head.post(f"/people/{key}/code")
    assert refused.status_code == 422
    assert "cannot sign in" in refused.text


def test_a_name_that_is_taken_is_refused_beside_its_field(sign_in: SignIn) -> None:
    page = sign_in(Role.HEAD).post("/people/new", data={"name": "ADA marsh", "role": ""})
    assert page.status_code == 422
    assert re.search(r'id="name-error".{0,60}Somebody is called Ada Marsh already', page.text)
    assert 'value="ADA marsh"' in page.text


def test_a_correction_is_stored_and_history_holds_no_name(
    sign_in: SignIn, database: Database
) -> None:
    head = sign_in(Role.HEAD)
    assert _edit(head, "key-of-trainee", name="Tomas Quillon", role="head") == 303
    assert _person(database, "key-of-trainee").name == "Tomas Quillon"
    with database.reading() as session:
        line = session.scalars(select(HistoryLine)).one()
        role = session.scalars(select(Account.role).where(Account.person_id == 2)).one()
    assert role == "head"
    assert (line.what, line.subject, line.actor_key) == (
        "person corrected",
        "person key-of-trainee",
        "key-of-head",
    )
    assert '"role":["trainee","head"]' in line.change
    assert "Quill" not in line.change


def test_the_last_head_stays_one(sign_in: SignIn) -> None:
    head = sign_in(Role.HEAD)
    assert _edit(head, "key-of-head", name="Ines Farrow", role="trainee") == 422
    refused = head.post("/people/key-of-head/shut-out")
    assert refused.status_code == 422
    assert "only head propagator" in refused.text


def test_shutting_out_ends_sessions_and_can_be_undone(sign_in: SignIn, database: Database) -> None:
    sign_in(Role.TRAINEE)
    head = sign_in(Role.HEAD)
    assert head.post("/people/key-of-trainee/shut-out").status_code == 303
    page = head.get("/people/key-of-trainee").text
    assert "Stopped from signing in" in page
    assert 'action="/people/key-of-trainee/let-in"' in page
    with database.reading() as session:
        ends = session.scalars(select(SessionRow.ended_why).where(SessionRow.account_id == 2))
        assert ends.all() == ["account disabled"]
    head.post("/people/key-of-trainee/let-in")
    assert "Can sign in" in head.get("/people/key-of-trainee").text


def test_erasing_takes_the_name_and_keeps_the_mark(sign_in: SignIn, database: Database) -> None:
    head = sign_in(Role.HEAD)
    _edit(head, "key-of-trainee", notes="likes Hebe")
    assert "cannot be undone" in head.get("/people/key-of-trainee/erase").text
    assert head.post("/people/key-of-trainee/erase").status_code == 303
    person = _person(database, "key-of-trainee")
    assert (person.name, person.notes) == (ERASED_NAME, "")
    assert "erased" in head.get("/people/key-of-trainee").text
    database.close()
    stored = database.path.read_bytes()
    assert b"key-of-trainee" in stored
    assert b"Quill" not in stored
    assert b"Hebe" not in stored
    # The name is free again for somebody else.
    assert head.post("/people/new", data={"name": "Tomas Quill", "role": ""}).status_code == 303


def test_a_head_cannot_erase_herself(sign_in: SignIn) -> None:
    assert sign_in(Role.HEAD).post("/people/key-of-head/erase").status_code == 422


@pytest.mark.parametrize("path", ["/people/nobody", "/people/nobody/erase"])
def test_nobody_there_is_a_plain_404(sign_in: SignIn, path: str) -> None:
    answer = sign_in(Role.HEAD).get(path)
    assert answer.status_code == 404
    assert "nobody with this mark" in answer.text


def test_no_posted_form_keeps_a_name(sign_in: SignIn, database: Database) -> None:
    head = sign_in(Role.HEAD)
    head.post("/people/new", data={"name": "Rhea Holm", "role": "trainee"})
    key = _key_of(database, "Rhea Holm")
    head.post(f"/people/{key}/code")
    head.post(f"/people/{key}/erase")
    with database.reading() as session:
        kept = session.execute(text("SELECT route || result FROM posted_forms")).scalars().all()
    assert len(kept) == 3
    assert not any("Rhea" in line or re.search(r"[A-Z2-9]{4}-", line) for line in kept)
