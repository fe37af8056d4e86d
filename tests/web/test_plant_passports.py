"""The pages of plant passports, used without script."""

from collections.abc import Callable
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.store.session import Database
from tests.services.batch_records import add_plant
from tests.services.check_records import stick

SignIn = Callable[[Role], FlaskClient]
PASSPORT = {
    "plant": "Hebe 'Great Orme'",
    "traceability_code": "26-0001",
    "origin": "GB",
    "plants": "1,200",
    "labels": "2",
}
NEW = "/plant-passports/new?batch=26-0001"


@pytest.fixture(autouse=True)
def records(database: Database, head: Actor) -> None:
    with database.writing() as session:
        stick(session, head, plant=add_plant(session))


def posted(**typed: object) -> dict[str, object]:
    return {"post_key": token_urlsafe(18), **typed}


def turn_on(browser: FlaskClient, **typed: str) -> None:
    said = {"territory": "GB", "operator_number": "12345", "version": "1"} | typed
    answer = browser.post("/plant-passports/settings", data=posted(**said))
    assert answer.status_code == 303, answer.get_data(as_text=True)


def text(browser: FlaskClient, address: str) -> str:
    return " ".join(browser.get(address).get_data(as_text=True).split())


def test_they_are_off_and_out_of_the_way_until_the_head_turns_them_on(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    assert "/plant-passports/new" not in text(browser, "/batches/26-0001")
    assert "This nursery issues none" in text(browser, "/plant-passports")
    assert "Passports are off" in text(browser, NEW)
    refused = browser.post(NEW, data=posted(**PASSPORT))
    assert (refused.status_code, refused.location) == (422, None)
    turn_on(browser)
    assert 'href="/plant-passports/new?batch=26-0001"' in text(browser, "/batches/26-0001")


def test_one_is_issued_shown_voided_and_issued_again(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    turn_on(browser)
    assert 'value="26-0001"' in text(browser, NEW)
    issued = browser.post(NEW, data=posted(**PASSPORT))
    assert issued.status_code == 303
    assert issued.location == "/plant-passports/P-0001"
    page = text(browser, "/plant-passports/P-0001")
    assert "<b>UK Plant Passport</b>" in page
    assert "<dt>A</dt><dd>Hebe &#39;Great Orme&#39;</dd><dt>B</dt><dd>12345</dd>" in page
    assert "flag of the Union" not in page
    assert "the plant-health authority" in page or "plant-health authority decides" in page
    assert "P-0001" in text(browser, "/batches/26-0001")
    voided = browser.post("/plant-passports/P-0001/void", data=posted(reason="wrong number"))
    assert voided.status_code == 303
    page = text(browser, "/plant-passports/P-0001")
    assert "<b>Void</b> since" in page
    again = "/plant-passports/new?batch=26-0001&again=P-0001"
    assert 'value="1200"' in text(browser, again)
    assert browser.post(again, data=posted(**PASSPORT | {"plants": "120"})).status_code == 303
    assert "Issued again as" in text(browser, "/plant-passports/P-0001")


def test_one_of_the_eu_has_the_flag_and_both_languages(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    turn_on(browser, territory="EU", member_state="fr", own_title="Passeport phytosanitaire")
    browser.post(NEW, data=posted(**PASSPORT | {"origin": "FR"}))
    page = text(browser, "/plant-passports/P-0001")
    assert "flag of the Union" in page
    assert "Passeport phytosanitaire / Plant Passport" in page
    assert "<dd>FR-12345</dd>" in page


def test_what_is_wrong_is_said_by_its_field_and_the_rest_stays(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    turn_on(browser)
    wrong = {"plants": "lots", "origin": "?"}
    answer = browser.post(NEW, data=posted(**PASSPORT | wrong))
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert 'value="lots"' in page
    answer = browser.post(NEW, data=posted(**PASSPORT | {"origin": "?"}))
    assert "Give the country of origin" in answer.get_data(as_text=True)
    answer = browser.post(
        "/plant-passports/settings", data=posted(territory="XX", operator_number="1", version="2")
    )
    assert answer.status_code == 422
    assert browser.post("/plant-passports/P-0009/void", data=posted()).status_code == 404


def test_a_trainee_and_a_manager_read_them_only(sign_in: SignIn) -> None:
    turn_on(sign_in(Role.HEAD))
    for role in (Role.TRAINEE, Role.MANAGER):
        browser = sign_in(role)
        assert browser.get("/plant-passports").status_code == 200
        assert browser.get(NEW).status_code == 403
        assert browser.get("/plant-passports/settings").status_code == 403


def test_its_labels_are_printed_on_the_sheet_chosen_while_it_holds(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    turn_on(browser)
    browser.post(NEW, data=posted(**PASSPORT))
    assert "2 labels as PDF" in text(browser, "/plant-passports/P-0001")
    answer = browser.get("/plant-passports/P-0001/labels.pdf")
    assert (answer.status_code, answer.mimetype) == (200, "application/pdf")
    assert answer.data.startswith(b"%PDF-")
    wrong = browser.get("/plant-passports/P-0001/labels.pdf?start=500")
    assert wrong.status_code == 422
    assert "This sheet starts at" in wrong.get_data(as_text=True)
    odd = browser.get("/plant-passports/P-0001/labels.pdf?sheet=papyrus")
    assert odd.status_code == 422
    browser.post("/plant-passports/P-0001/void", data=posted(reason="wrong number"))
    assert browser.get("/plant-passports/P-0001/labels.pdf").status_code == 404
