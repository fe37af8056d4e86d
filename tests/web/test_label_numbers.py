"""Labels printed ahead: their pages, and the way from a number to its batch or to sticking."""

from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.services.label_numbers import put_label_on, reserve_label_numbers
from app.store.session import Database
from tests.conftest import NOW
from tests.formats.label_pages import pictures, scanned
from tests.services.batch_records import add_plant
from tests.services.check_records import stick

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture
def browser(sign_in: SignIn, database: Database, head: Actor) -> FlaskClient:
    with database.writing() as session:
        stick(session, head, plant=add_plant(session))
        reserve_label_numbers(session, actor=head, now=NOW, number=10)
        put_label_on(session, actor=head, now=NOW, typed="N-0001", batch_code="26-0001")
    return sign_in(Role.HEAD)


def stuck_form(key: str, **fields: str) -> dict[str, str]:
    return {"post_key": key, "plant": "Hebe 'Great Orme'", "stuck": "84", "stuck_on": "t"} | fields


def test_numbers_are_reserved_and_then_printed(browser: FlaskClient) -> None:
    saved = browser.post("/label-numbers", data={"post_key": "reserve-some-labels", "number": "30"})
    assert saved.status_code == 303
    assert saved.location == "/labels/numbers?codes=N-0011+to+N-0040"
    assert "<h1>30 labels on 2 pages</h1>" in browser.get(saved.location).text
    file = browser.get("/labels/numbers/print.pdf?codes=N-0011+to+N-0040")
    read = {code.text for page in pictures(file.data, dpi=150) for code in scanned(page, dpi=150)}
    assert len(read) == 30
    assert any(text.endswith("/to/N-0040") for text in read)
    listed = browser.get("/label-numbers").text
    assert "N-0011 to N-0040" in listed
    assert "Ines Farrow" in listed


@pytest.mark.parametrize("typed", ["", "0", "3001", "many"])
def test_a_wrong_number_of_labels_is_said_by_its_field(browser: FlaskClient, typed: str) -> None:
    refused = browser.post(
        "/label-numbers", data={"post_key": "reserve-some-labels", "number": typed}
    )
    assert refused.status_code == 422
    assert 'id="number-error"' in refused.text
    assert "N-0011" not in refused.text


def test_labels_never_reserved_are_not_printed(browser: FlaskClient) -> None:
    refused = browser.get("/labels/numbers/print.pdf?codes=N-0011")
    assert refused.status_code == 422
    assert "Nothing to label is called N-0011" in refused.text


def test_a_number_leads_to_its_batch_or_to_sticking_one(browser: FlaskClient) -> None:
    assert browser.get("/to/N-0001").location == "/batches/26-0001"
    assert browser.get("/search?q=n1").location == "/batches/26-0001"
    assert browser.get("/to/N-0002").location == "/batches/new?tag=N-0002"
    assert browser.get("/to/N-0999").location == "/search?q=N-0999"
    assert "There is no label printed ahead N-0999" in browser.get("/search?q=N-0999").text
    page = browser.get("/batches/new?tag=N-0002").text
    assert 'value="N-0002"' in page
    assert "/label-numbers/N-0002" in page


def test_who_may_not_stick_is_told_that_it_is_free(browser: FlaskClient, sign_in: SignIn) -> None:
    manager = sign_in(Role.MANAGER)
    assert manager.get("/to/N-0001").location == "/batches/26-0001"
    assert manager.get("/to/N-0002").location == "/search?q=N-0002"
    assert "N-0002 is on no batch yet" in manager.get("/search?q=N-0002").text


def test_a_batch_begins_with_the_number_typed(browser: FlaskClient) -> None:
    saved = browser.post("/batches/new", data=stuck_form("begins-with-a-label", tag="n 2"))
    assert saved.status_code == 303, saved.text
    assert browser.get("/to/N-0002").location == saved.location
    assert "N-0002" in browser.get(saved.location).text
    # Another like it does not carry the number over.
    assert "N-0002" not in browser.get("/batches/new?like=26-0002").text.split("<main")[1]


@pytest.mark.parametrize(
    ("tag", "sentence"),
    [("N-0001", "N-0001 is on batch 26-0001 already"), ("N-0099", "look at the label again")],
)
def test_a_number_taken_or_unknown_is_refused_by_its_field_and_nothing_is_stuck(
    browser: FlaskClient, tag: str, sentence: str
) -> None:
    refused = browser.post("/batches/new", data=stuck_form("begins-with-a-label", tag=tag))
    assert refused.status_code == 422
    assert 'id="tag-error"' in refused.text
    assert sentence in refused.text
    assert f'value="{tag}"' in refused.text
    assert browser.get("/batches/26-0002").status_code == 404


def test_a_label_is_put_on_a_batch_that_is_there_and_taken_off_again(browser: FlaskClient) -> None:
    page = browser.get("/label-numbers/N-0003").text
    assert "is on no batch yet" in page
    form = {"post_key": "put-a-label-on-it"}
    for typed, sentence in (("", "Give the code"), ("26-0099", "There is no batch 26-0099")):
        refused = browser.post("/label-numbers/N-0003", data=form | {"batch": typed})
        assert refused.status_code == 422
        assert sentence in refused.text
    assert browser.post("/label-numbers/N-0003", data=form | {"batch": "26-1"}).status_code == 303
    shown = browser.get("/batches/26-0001").text
    assert "N-0003" in shown
    assert "label printed ahead put on" in shown
    assert "is on 26-0001" in browser.get("/label-numbers/N-0003").text
    off = browser.post("/label-numbers/N-0003/off/26-0001", data={"post_key": "take-the-label-off"})
    assert off.status_code == 303
    assert browser.get("/to/N-0003").location == "/batches/new?tag=N-0003"
    assert browser.get("/label-numbers/N-0099").status_code == 404


def test_labels_lead_to_those_printed_ahead(browser: FlaskClient) -> None:
    assert 'href="/label-numbers"' in browser.get("/labels/batches").text


def test_sticking_by_phone_takes_the_number_too_and_leaves_it_out_of_the_next(
    browser: FlaskClient,
) -> None:
    address = "/stick/new?like=26-0001"
    assert browser.get(address).text.count('name="tag"') == 1
    refused = browser.post(address, data=stuck_form("by-phone-with-label", tag="N-0001"))
    assert refused.status_code == 422
    assert 'id="tag-error"' in refused.text
    saved = browser.post(address, data=stuck_form("by-phone-with-label-2", tag="N-0004"))
    assert saved.status_code == 303
    assert browser.get("/to/N-0004").location == "/batches/26-0002"
    assert "N-0004" not in browser.get(saved.location).text.split('name="tag"')[1]
