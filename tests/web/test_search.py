"""The one search box: codes go straight to their record, all else is listed."""

from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.services.batches import stick_batch
from app.services.plant_names import keep_plant_name, resolve_plant
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_stock_plant, entry

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture
def browser(sign_in: SignIn, database: Database, head: Actor) -> FlaskClient:
    with database.writing() as session:
        for typed, reference in (("Hebe 'Great Orme'", "book 3, 17"), ("Cistus × purpureus", "")):
            name = resolve_plant(session, typed=typed).name
            plant = keep_plant_name(session, actor=head, now=NOW, name=name)
            said = entry(plant, own_reference=reference)
            stick_batch(session, actor=head, today=TODAY, now=NOW, entry=said)
        add_stock_plant(session, plant)
    return sign_in(Role.TRAINEE)


def page(browser: FlaskClient, text: str) -> str:
    answer = browser.get("/search", query_string={"q": text})
    assert answer.status_code == 200
    return answer.get_data(as_text=True)


@pytest.mark.parametrize("typed", ["26-0002", "26-2", "260002", "26002", " 26/0002 "])
def test_a_code_goes_straight_to_its_batch(browser: FlaskClient, typed: str) -> None:
    answer = browser.get("/search", query_string={"q": typed})
    assert (answer.status_code, answer.location) == (303, "/batches/26-0002")
    shown = browser.get(answer.location).get_data(as_text=True)
    heading = shown[shown.index("<h1>") : shown.index("</h1>")]
    assert "26-0002" in heading
    assert "<i>Cistus</i>" in heading


@pytest.mark.parametrize("typed", ["S-0031", "s31"])
def test_a_stock_plants_code_goes_straight_to_it(browser: FlaskClient, typed: str) -> None:
    answer = browser.get("/search", query_string={"q": typed})
    assert (answer.status_code, answer.location) == (303, "/stock-plants/S-0031")


def test_a_code_without_a_record_is_echoed_and_never_opens_another(browser: FlaskClient) -> None:
    assert "There is no batch 26-0020" in page(browser, "26-0020")
    assert "changed places" in page(browser, "26-0020")
    assert "There is no stock plant S-0013" in page(browser, "S-0013")


def test_names_references_and_stock_plants_are_listed(browser: FlaskClient) -> None:
    found = page(browser, "cistus")
    assert "/batches/26-0002" in found
    assert "/batches/26-0001" not in found
    assert "/stock-plants/S-0031" in found
    assert 'value="cistus"' in found
    assert "/batches/26-0001" in page(browser, "3, 17")


@pytest.mark.parametrize("typed", ["2", "0002"])
def test_a_number_without_its_year_lists_and_opens_nothing(
    browser: FlaskClient, typed: str
) -> None:
    found = page(browser, typed)
    assert "/batches/26-0002" in found
    assert "/batches/26-0001" not in found
    assert "Nothing fits" in page(browser, "9" * 30)


def test_nothing_found_and_nothing_typed_say_what_to_do(browser: FlaskClient) -> None:
    assert "Nothing fits “zzz”" in page(browser, "zzz")
    assert "Type a code" in page(browser, "  ")


def test_a_stranger_is_asked_to_sign_in(client: FlaskClient) -> None:
    assert client.get("/search?q=hebe").status_code in {302, 303}
