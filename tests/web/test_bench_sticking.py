"""Sticking by phone as it is written: which plant, what stays, and where saving leads."""

import re
from collections.abc import Callable
from html import unescape
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.store.session import Database
from tests.services.batch_records import add_bench, add_container, add_plant, add_stock_plant
from tests.services.check_records import stick

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture(autouse=True)
def _first(database: Database, trainee: Actor) -> None:
    """Batch 26-0001 of the trainee on a bench, in trays of 84; stock plant S-0031."""
    with database.writing() as session:
        plant = add_plant(session)
        add_stock_plant(session, plant)
        stick(
            session,
            trainee,
            plant=plant,
            bench_id=add_bench(session),
            container_id=add_container(session, plugs=84),
        )


def shown(client: FlaskClient, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200, answer.location
    return answer.get_data(as_text=True)


def test_the_last_one_and_plants_of_late_are_offered(sign_in: SignIn) -> None:
    page = shown(sign_in(Role.TRAINEE), "/stick")
    assert "Like the last one: 26-0001 Hebe &#39;Great Orme&#39;" in page
    (address,) = re.findall(r'href="(/stick/new\?plant=[^"]+)"', page)
    form = shown(sign_in(Role.TRAINEE), unescape(address))
    assert "<i>Hebe</i> ‘Great Orme’" in form[form.index("<h1>") : form.index("</h1>")]


def test_nobody_s_last_one_is_not_offered(sign_in: SignIn) -> None:
    assert "Like the last one" not in shown(sign_in(Role.HEAD), "/stick")


@pytest.mark.parametrize(
    "typed", ["S-0031", "s31", "S-31 ", "http://192.168.1.5:8000/stock-plants/S-0031"]
)
def test_a_label_of_a_stock_plant_leads_to_it(sign_in: SignIn, typed: str) -> None:
    client = sign_in(Role.TRAINEE)
    answer = client.get("/stick", query_string={"plant": typed})
    assert answer.location == "/stick/new?plant=S-0031"
    page = shown(client, answer.location)
    heading = page[page.index("<h1>") : page.index("</h1>")]
    assert "<i>Hebe</i> ‘Great Orme’" in heading
    # Where the last one went.
    assert '<option selected value="1">Mist bench 2</option>' in page


def test_an_unknown_stock_plant_is_said_by_its_field(sign_in: SignIn) -> None:
    page = shown(sign_in(Role.TRAINEE), "/stick?plant=S-0099")
    assert "There is no stock plant S-0099." in page
    assert 'value="S-0099"' in page


def test_everything_stays_but_the_number(sign_in: SignIn, database: Database) -> None:
    client = sign_in(Role.TRAINEE)
    page = shown(client, "/stick/new?like=26-0001")
    assert 'data-tray="84"' in page
    assert 'name="stuck" type="text" value=""' in page
    assert '<option selected value="1">Mist bench 2</option>' in page
    typed = {"post_key": token_urlsafe(18), "plant": "Hebe 'Great Orme'", "stuck": "84"}
    answer = client.post("/stick/new?like=26-0001", data=typed | {"stuck_on": "today"})
    assert answer.status_code == 303
    assert answer.location == "/stick/new?like=26-0002"
    assert "26-0002 is saved: 84" in shown(client, answer.location)


def test_what_is_wrong_is_said_and_typed_text_stays(sign_in: SignIn) -> None:
    client = sign_in(Role.TRAINEE)
    typed = {"post_key": token_urlsafe(18), "plant": "S-0031", "stuck": "many"}
    answer = client.post("/stick/new?plant=S-0031", data=typed)
    assert answer.status_code == 422
    page = answer.get_data(as_text=True)
    assert 'value="many"' in page
    assert 'id="stuck-error"' in page
