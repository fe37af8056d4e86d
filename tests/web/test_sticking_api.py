"""What the form of a batch is told while somebody types."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.domain.plant_name_entries import PlantNameEntry
from app.services.plant_names import add_plant_name, keep_plant_name, resolve_plant
from app.services.starting_data import load_starting_data
from app.store.session import Database
from tests.conftest import NOW
from tests.services.batch_records import add_stock_plant

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture
def browser(sign_in: SignIn, database: Database, head: Actor) -> FlaskClient:
    with database.writing() as session:
        load_starting_data(session, now=NOW)
        name = resolve_plant(session, typed="Hebe 'Great Orme'").name
        add_stock_plant(session, keep_plant_name(session, actor=head, now=NOW, name=name))
    return sign_in(Role.TRAINEE)


def asked(browser: FlaskClient, address: str, **query: str) -> Any:
    answer = browser.get(address, query_string=query)
    assert answer.status_code == 200
    return json.loads(answer.get_data(as_text=True))


def card(browser: FlaskClient, plant: str, cutting_type: str = "") -> Any:
    return asked(browser, "/api/starting-values", plant=plant, cutting_type=cutting_type)


def test_a_card_gives_texts_with_where_they_come_from(browser: FlaskClient) -> None:
    told = card(browser, "Hebe 'Great Orme'", "semi-ripe")
    assert told["texts"] == {"bottom_heat_c": "16.5", "cover": "covered"}
    assert told["version_id"] is not None
    assert told["summary"].startswith("The method card for Hebe, semi-ripe: months August to")
    assert "common practice, no source" in told["summary"]
    assert told["hints"]["length_cm"] == (
        "The method card says 10 to 15 cm. (common practice, no source)"
    )
    assert told["hints"]["stuck"].startswith('"96"')
    assert told["caution"] == "Hebe: no caution recorded."


def test_a_stock_plants_code_stands_for_its_plant(browser: FlaskClient) -> None:
    assert card(browser, "S-0031", "semi-ripe")["plant"] == "Hebe 'Great Orme'"


def test_without_a_type_the_types_of_its_cards_are_named(browser: FlaskClient) -> None:
    told = card(browser, "Hebe 'Great Orme'")
    assert told["version_id"] is None
    assert told["summary"] == "Hebe: There are method cards for semi-ripe."
    assert told["texts"] == {}


def test_a_plant_that_is_not_in_the_log_has_its_genus(browser: FlaskClient) -> None:
    told = card(browser, "Pelargonium 'Somebody New'", "softwood")
    assert "The method card says to leave uncovered. (" in told["hints"]["cover"]
    assert told["texts"]["hormone"] == "no hormone"
    assert "may cause skin allergy" in told["caution"]


@pytest.mark.parametrize(("plant", "cutting_type"), [("", ""), ("S-0099", "x"), ("''", "softwood")])
def test_what_is_no_plant_says_what_to_do(
    browser: FlaskClient, plant: str, cutting_type: str
) -> None:
    told = card(browser, plant, cutting_type)
    assert told["summary"].startswith("Name the plant")
    assert told["texts"] == {}


def test_a_protected_variety_is_said(browser: FlaskClient, database: Database, head: Actor) -> None:
    with database.writing() as session:
        name = resolve_plant(session, typed="Hebe 'Invented Queen'").name
        said = PlantNameEntry(name=name, rights_grant="EU 123")
        add_plant_name(session, actor=head, now=NOW, entry=said)
    assert "no licence to propagate it" in card(browser, "Hebe 'Invented Queen'")["rights"]


def test_plants_are_offered_by_name_and_by_code(browser: FlaskClient) -> None:
    offered = asked(browser, "/api/plants", q="orme")
    assert "Hebe 'Great Orme'" in offered
    assert {"value": "S-0031", "label": "Hebe 'Great Orme'"} in offered
    assert asked(browser, "/api/plants", q="o") == []
    assert asked(browser, "/api/plants", q="zzz") == []


def test_starting_values_are_for_those_who_stick(sign_in: SignIn) -> None:
    assert sign_in(Role.MANAGER).get("/api/starting-values").status_code == 403
