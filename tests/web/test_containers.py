"""The pages of containers, hormones and the nursery, as somebody uses them without script."""

from collections.abc import Callable
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient
from sqlalchemy import text

from app.domain.people import Role
from app.services.starting_data import load_starting_data
from app.store.session import Database
from tests.conftest import NOW

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture(autouse=True)
def _starting_data(database: Database) -> None:
    with database.writing() as session:
        load_starting_data(session, now=NOW)


def posted(**typed: str) -> dict[str, str]:
    return {"post_key": token_urlsafe(18), "version": "1", **typed}


def test_a_container_is_added_and_listed(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    typed = posted(name="60-plug tray", kind="tray", plugs="60", volume_ml="40,5")
    answer = browser.post("/containers/new", data=typed, follow_redirects=True)
    page = answer.get_data(as_text=True)
    assert "60-plug tray is saved." in page
    assert "40.5" in page


def test_what_is_wrong_stands_by_its_field_and_typed_values_stay(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    typed = posted(name="Deep tray", kind="tray", plugs="sixty", volume_ml="inf")
    answer = browser.post("/containers/new", data=typed)
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert page.count("Type a whole number without its unit") == 2  # on top and by the field
    assert page.count("Type a number without its unit") == 2
    assert 'value="sixty"' in page
    assert 'value="Deep tray"' in page


def test_the_second_editor_is_shown_both_versions(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.HEAD)
    with database.reading() as session:
        number = session.scalar(text("SELECT id FROM containers WHERE name = '84-plug tray'"))
    address = f"/containers/{number}/edit"
    common = {"name": "84-plug tray", "kind": "tray"}
    assert browser.post(address, data=posted(plugs="80", **common)).status_code == 303
    second = browser.post(address, data=posted(plugs="82", **common))
    page = second.get_data(as_text=True)
    assert second.status_code == 409
    assert "80" in page
    assert "82" in page


def test_a_trainee_reads_but_does_not_add(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    assert "Add a container" not in browser.get("/containers").get_data(as_text=True)
    assert browser.get("/containers/new").status_code == 403


def test_a_hormone_is_added_once(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    first = browser.post("/hormones/new", data=posted(hormone="iba gel 0.3 %"))
    assert first.status_code == 303
    assert "IBA gel 3000 ppm" in browser.get("/hormones").get_data(as_text=True)
    second = browser.post("/hormones/new", data=posted(hormone="IBA gel 3000 ppm"))
    assert second.status_code == 422
    assert "in the list already" in second.get_data(as_text=True)


@pytest.mark.parametrize("typed", ["", "1000 ppm"])
def test_a_hormone_needs_its_substance(sign_in: SignIn, typed: str) -> None:
    browser = sign_in(Role.HEAD)
    assert browser.post("/hormones/new", data=posted(hormone=typed)).status_code == 422


def test_the_nursery_is_changed_by_the_head_only(sign_in: SignIn) -> None:
    typed = {"zone": "Europe/London", "hemisphere": "south", "medium_word": "compost"}
    assert sign_in(Role.MANAGER).get("/nursery").status_code == 403
    browser = sign_in(Role.HEAD)
    answer = browser.post("/nursery", data=posted(name="Alderholt", **typed))
    assert answer.status_code == 303
    assert 'value="Alderholt"' in browser.get("/nursery").get_data(as_text=True)


def test_an_unknown_zone_is_refused(sign_in: SignIn) -> None:
    typed = {"name": "x", "zone": "Nowhere", "hemisphere": "north", "medium_word": "mix"}
    answer = sign_in(Role.HEAD).post("/nursery", data=posted(**typed))
    assert answer.status_code == 422
    assert 'value="Nowhere"' in answer.get_data(as_text=True)
