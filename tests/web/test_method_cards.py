"""The pages of the method cards."""

import re
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from app.domain.cutting_types import CuttingType
from app.domain.people import Role
from app.services.method_cards import load_starting_cards
from app.store.models.meta import Meta
from app.store.queries.method_cards import find_card, get_card
from app.store.session import Database
from tests.conftest import NOW

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture
def cards(database: Database) -> Callable[[str, CuttingType], int]:
    """The starting cards put in; gives the id of one."""
    with database.writing() as session:
        load_starting_cards(session, now=NOW)

    def card_id(genus: str, cutting_type: CuttingType) -> int:
        with database.reading() as session:
            card = find_card(session, genus=genus, species="", cutting_type=cutting_type)
        assert card is not None
        return card.id

    return card_id


Cards = Callable[[str, CuttingType], int]


def test_the_list_can_be_searched(sign_in: SignIn, cards: Cards) -> None:
    client = sign_in(Role.TRAINEE)
    page = client.get("/method-cards").text
    assert "79 cards" in page
    assert "<i>Abelia</i>" in page
    found = client.get("/method-cards?find=rosmar").text
    assert "1 card<" in found
    assert "<i>Salvia rosmarinus</i>" in found
    assert "No card holds these words" in client.get("/method-cards?find=zzz").text


def test_an_empty_list_says_what_will_be_here(sign_in: SignIn) -> None:
    assert "No card yet" in sign_in(Role.HEAD).get("/method-cards").text


def test_each_value_says_where_it_comes_from(sign_in: SignIn, cards: Cards) -> None:
    page = sign_in(Role.TRAINEE).get(f"/method-cards/{cards('Salix', CuttingType.HARDWOOD)}").text
    assert "1 to 6 weeks" in page
    assert "Tara Luna, Protocol: Salix scouleriana" in page
    assert "February to April" in page
    assert "common practice, no source" in page


def test_a_card_leads_to_how_long_it_takes_here(sign_in: SignIn, cards: Cards) -> None:
    browser = sign_in(Role.TRAINEE)
    page = browser.get(f"/method-cards/{cards('Salix', CuttingType.HARDWOOD)}").text
    address = re.search(r'href="(/times-to-root/\d+\?type=hardwood)">How long it takes', page)
    assert address
    assert browser.get(address[1]).status_code == 200


def test_a_caution_stands_on_the_card_and_none_never_reads_as_safe(
    sign_in: SignIn, cards: Cards
) -> None:
    client = sign_in(Role.TRAINEE)
    taxus = client.get(f"/method-cards/{cards('Taxus', CuttingType.HARDWOOD)}").text
    assert "VERY poisonous" in taxus
    assert "local rules and licensed practice" in taxus
    cistus = client.get(f"/method-cards/{cards('Cistus', CuttingType.SEMI_RIPE)}").text
    assert "no caution recorded" in cistus
    assert "Rooting hormone" in cistus
    forsythia = client.get(f"/method-cards/{cards('Forsythia', CuttingType.HARDWOOD)}").text
    assert "Rooting hormone" not in forsythia


def test_months_are_turned_in_the_southern_half(
    sign_in: SignIn, cards: Cards, database: Database
) -> None:
    with database.writing() as session:
        session.query(Meta).one().hemisphere = "south"
    client = sign_in(Role.HEAD)
    card_id = cards("Salix", CuttingType.HARDWOOD)
    assert "August to October" in client.get(f"/method-cards/{card_id}").text
    assert 'value="8-10"' in client.get(f"/method-cards/{card_id}/edit").text
    typed = {"months": "9-10", "weeks": "1 to 6", "version": "1"}
    assert client.post(f"/method-cards/{card_id}/edit", data=typed).status_code == 303
    with database.reading() as session:
        assert get_card(session, card_id=card_id).values.months == {3, 4}


def test_the_form_changes_only_what_was_typed_anew(
    sign_in: SignIn, cards: Cards, database: Database
) -> None:
    client = sign_in(Role.HEAD)
    card_id = cards("Salix", CuttingType.HARDWOOD)
    with database.reading() as session:
        before = get_card(session, card_id=card_id)
    typed = {
        "months": "2-4",
        "hormone_substance": "IBA",
        "hormone_form": "quick dip or talc",
        "hormone_ppm": "0 to 3,000",
        "cover": "none",
        "weeks": "2 to 6 weeks",
        "notes": before.values.notes,
        "version": "1",
    }
    answer = client.post(f"/method-cards/{card_id}/edit", data=typed, follow_redirects=True)
    assert "version 2 holds now" in answer.text
    assert "Earlier versions" in answer.text
    with database.reading() as session:
        after = get_card(session, card_id=card_id)
    changed = {group for group in after.standings if after.standings[group] == "this nursery"}
    assert changed == {"weeks"}
    assert after.values.hormone_ppm_high == 3000


def test_what_cannot_be_read_is_said_by_its_field(sign_in: SignIn, cards: Cards) -> None:
    wrong = {"months": "spring", "weeks": "soon", "genus": "Cistus", "version": "1"}
    answer = sign_in(Role.HEAD).post("/method-cards/new", data=wrong)
    assert answer.status_code == 422
    assert 'href="#months"' in answer.text
    assert 'href="#weeks"' in answer.text
    assert 'value="spring"' in answer.text


def test_a_card_of_ones_own(sign_in: SignIn, cards: Cards) -> None:
    client = sign_in(Role.HEAD)
    typed = {"genus": "cistus", "species": "", "cutting_type": "softwood", "version": "1"}
    answer = client.post("/method-cards/new", data=typed, follow_redirects=True)
    assert "The card of Cistus, softwood, is saved" in answer.text
    again = client.post("/method-cards/new", data=typed)
    assert again.status_code == 422
    assert "There is a card of Cistus for softwood already" in again.text


def test_no_type_chosen_is_asked_for(sign_in: SignIn) -> None:
    answer = sign_in(Role.HEAD).post("/method-cards/new", data={"genus": "Hebe", "version": "1"})
    assert answer.status_code == 422
    assert 'href="#cutting_type-0"' in answer.text


def test_the_second_editor_chooses(sign_in: SignIn, cards: Cards) -> None:
    client = sign_in(Role.HEAD)
    address = f"/method-cards/{cards('Hebe', CuttingType.SEMI_RIPE)}/edit"
    client.post(address, data={"weeks": "3", "version": "1"})
    answer = client.post(address, data={"weeks": "4", "version": "1"})
    assert answer.status_code == 409


def test_a_card_is_taken_out_of_use_and_put_back(sign_in: SignIn, cards: Cards) -> None:
    client = sign_in(Role.HEAD)
    address = f"/method-cards/{cards('Hebe', CuttingType.SEMI_RIPE)}"
    answer = client.post(f"{address}/retire", data={"version": "1"}, follow_redirects=True)
    assert "Out of use: nothing is filled in" in answer.text
    answer = client.post(f"{address}/restore", follow_redirects=True)
    assert "The card is back in use." in answer.text


@pytest.mark.parametrize("role", [Role.TRAINEE, Role.MANAGER])
def test_others_read_and_do_not_change(sign_in: SignIn, cards: Cards, role: Role) -> None:
    client = sign_in(role)
    address = f"/method-cards/{cards('Hebe', CuttingType.SEMI_RIPE)}"
    assert "Change it" not in client.get(address).text
    for method, path in (
        ("GET", "/method-cards/new"),
        ("GET", f"{address}/edit"),
        ("POST", f"{address}/retire"),
        ("POST", f"{address}/restore"),
    ):
        assert client.open(path, method=method).status_code == 403
