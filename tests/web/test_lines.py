"""The page of a line, used without script."""

from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.domain.stock_plants import Origin, StockPlantEntry
from app.services.stock_plants import add_stock_plant
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant, from_stock_plant
from tests.services.batch_records import add_stock_plant as put_stock_plant
from tests.services.check_records import check, lost, said, stick

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture(autouse=True)
def records(database: Database, head: Actor) -> None:
    with database.writing() as session:
        plant = add_plant(session)
        first = put_stock_plant(session, plant)
        batch = stick(session, head, plant=plant, sources=(from_stock_plant(first),))
        check(session, head, batch, said(8, 38, lost=lost(58)))
        entry = StockPlantEntry(
            plant_name_id=plant, origin=Origin.RAISED_HERE, raised_from_id=batch.id
        )
        add_stock_plant(session, actor=head, today=TODAY, now=NOW, entry=entry)


def text(browser: FlaskClient, address: str) -> str:
    answer = browser.get(address)
    assert answer.status_code == 200
    return " ".join(answer.get_data(as_text=True).split())


def test_the_line_is_drawn_up_and_down_with_its_rates(sign_in: SignIn) -> None:
    page = text(sign_in(Role.TRAINEE), "/lines/26-1")
    assert "Generation 1. It goes back to" in page
    assert page.index("/stock-plants/S-0031") < page.index("/stock-plants/S-0032")
    assert "1 stock plant comes from it, as far as recorded." in page
    assert "1 batch, 96 stuck, 38 rooted" in page
    assert "40 % (" in page


def test_the_pages_of_both_lead_to_it(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    assert 'href="/lines/S-0031"' in text(browser, "/stock-plants/S-0031")
    assert 'href="/lines/26-0001"' in text(browser, "/batches/26-0001")


def test_nothing_recorded_says_what_will_be_here(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    assert "Nothing before it is recorded." in text(browser, "/lines/S-0031")
    assert "Nothing has been taken from it yet." in text(browser, "/lines/S-0032")
    assert browser.get("/lines/S-0099").status_code == 404


def test_a_long_line_comes_a_page_at_a_time(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        for _ in range(205):
            stick(session, head, plant=1, sources=(from_stock_plant(2),))
    browser = sign_in(Role.TRAINEE)
    assert "1 to 200 of 205" in text(browser, "/lines/S-0032")
    rest = text(browser, "/lines/S-0032?from=200")
    assert "201 to 205 of 205" in rest
    assert rest.count('<tr class="step-1">') == 6
