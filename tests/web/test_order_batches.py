"""Batches that count to orders, on the pages: chosen at sticking, attached later, seen on Today."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from flask.testing import FlaskClient

from app.domain.days import MONTHS
from app.domain.people import Role
from app.services.fits import learn
from app.services.order_outlooks import watch_orders
from app.store.queries.orders import find_order_of_batch
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.journeys.told_log import STORY, tell_small_log
from tests.web.batch_pages import posted, problems_of, set_up_nursery, six

SignIn = Callable[[Role], FlaskClient]
HEBE = "Hebe 'Great Orme'"


@pytest.fixture
def browser(database: Database, sign_in: SignIn) -> FlaskClient:
    set_up_nursery(database)
    return sign_in(Role.HEAD)


def order(browser: FlaskClient, plant: str = HEBE, **typed: str) -> None:
    said = {"plant": plant, "plants": "60", "due_on": "week 30", "version": "1"} | typed
    answer = browser.post("/plan/orders/new", data=posted(**said))
    assert answer.status_code == 303, problems_of(answer.text)


def test_the_order_is_chosen_when_a_batch_is_stuck(
    browser: FlaskClient, database: Database
) -> None:
    assert "Counts to order" not in browser.get("/batches/new").text
    order(browser)
    assert "1: 60 Hebe" in browser.get("/batches/new").text
    answer = browser.post("/batches/new", data=six(order="1"))
    assert answer.status_code == 303, problems_of(answer.text)
    with database.reading() as session:
        counted = find_order_of_batch(session, batch_id=1)
    assert counted is not None and counted.number == 1
    page = browser.get("/plan/orders/1").text
    assert "1 batch, 96 stuck for it: 0 rooted, 96 not rooted yet, 0 potted up." in page
    assert "Counts to order" not in browser.get("/batches/26-0001/edit").text
    assert 'href="/plan/orders/1">order 1</a>' in browser.get("/batches/26-0001").text
    # The next one like it counts to the same order while that is open.
    chosen = '<option selected value="1">1: 60 Hebe'
    assert chosen in browser.get("/batches/new?like=26-0001").text
    browser.post("/plan/orders/1/met", data=posted())
    assert chosen not in browser.get("/batches/new?like=26-0001").text


def test_a_batch_is_begun_from_its_order(browser: FlaskClient) -> None:
    order(browser)
    assert "/batches/new?order=1" in browser.get("/plan/orders/1").text
    page = browser.get("/batches/new?order=1").text
    assert '<option selected value="1">1: 60 Hebe' in page
    assert 'value="Hebe &#39;Great Orme&#39;"' in page
    assert browser.get("/batches/new?order=9").status_code == 404


@pytest.mark.parametrize(
    ("chosen", "sentence"),
    [("9", "Choose one from the list."), ("1", "This batch is Hebe ")],
)
def test_an_order_that_does_not_fit_leaves_the_batch_unstuck(
    browser: FlaskClient, chosen: str, sentence: str
) -> None:
    order(browser, plant="Cistus × purpureus")
    answer = browser.post("/batches/new", data=six(order=chosen))
    assert answer.status_code == 422
    assert any(sentence in problem for problem in problems_of(answer.text))
    assert browser.get("/batches/26-0001").status_code == 404


def test_a_batch_is_counted_later_and_taken_off(browser: FlaskClient) -> None:
    browser.post("/batches/new", data=six())
    order(browser)
    page = browser.get("/plan/orders/1/batches/new").text
    assert '<option value="26-0001">' in page
    answer = browser.post(
        "/plan/orders/1/batches/new", data=posted(batch="26-1"), follow_redirects=True
    )
    assert "26-0001 counts to order 1." in answer.text
    assert "Take it off" in answer.text
    answer = browser.post(
        "/plan/orders/1/batches/26-0001/take-off", data=posted(), follow_redirects=True
    )
    assert "26-0001 no longer counts to order 1." in answer.text
    assert "Nothing is stuck for it yet." in answer.text


def test_a_batch_that_is_none_is_said_by_its_field(browser: FlaskClient) -> None:
    order(browser)
    answer = browser.post("/plan/orders/1/batches/new", data=posted(batch="26-77"))
    assert answer.status_code == 422
    assert "There is no batch 26-77." in answer.text
    assert 'value="26-77"' in answer.text
    assert "No batch fits" in answer.text


def test_an_unlikely_order_shows_on_today_with_what_would_mend_it(
    database: Database, sign_in: SignIn
) -> None:
    tell_small_log(database)
    browser = sign_in(Role.HEAD)
    due = TODAY + timedelta(days=200)
    order(browser, plants="400", batches="1", due_on=f"{due.day} {MONTHS[due.month - 1]}")
    answer = browser.post("/plan/orders/3/batches/new", data=posted(batch=STORY))
    assert answer.status_code == 303, problems_of(answer.text)
    learn(database, now=NOW)
    watch_orders(database, today=TODAY)
    page = browser.get("/").text
    assert "Orders that have become unlikely" in page
    assert 'href="/plan/orders/3"' in page
    assert "The chance of 400 in time is 0 %. Stick " in page
    assert "to be 90 % sure." in page
    plan = browser.get("/plan").text
    assert '<td data-head="Chance now" class="number">0 %</td>' in plan
    assert "nothing stuck" in plan
    browser.post("/plan/orders/3/met", data=posted(), follow_redirects=True)
    assert 'href="/plan/orders/3"' not in browser.get("/").text
