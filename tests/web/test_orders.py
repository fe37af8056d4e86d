"""The pages of the orders."""

from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from app.domain.people import Role
from app.store.queries.orders import get_order, list_orders
from app.store.session import Database
from tests.web.batch_pages import posted, problems_of, set_up_nursery

SignIn = Callable[[Role], FlaskClient]
NEW = {"plant": "Hebe 'Great Orme'", "plants": "500", "due_on": "week 20", "version": "1"}


@pytest.fixture
def browser(database: Database, sign_in: SignIn) -> FlaskClient:
    set_up_nursery(database)
    return sign_in(Role.MANAGER)


def order(browser: FlaskClient, **typed: str) -> str:
    said = NEW | typed
    answer = browser.post("/plan/orders/new", data=posted(**said))
    assert answer.status_code == 303, problems_of(answer.text)
    return answer.location


def test_an_empty_plan_gives_the_first_step(browser: FlaskClient) -> None:
    page = browser.get("/plan").text
    assert "No order is open" in page
    assert "Add the first order" in page


def test_an_order_is_added_shown_and_listed(browser: FlaskClient) -> None:
    # Week 20 of 2027 begins on Monday, 17 May (ISO 8601).
    typed = {"for_whom": "the spring sale", "hormone": "IBA talc 1000 ppm", "sure": "95 %"}
    location = order(browser, **typed)
    page = browser.get(location).text
    assert "Order 1 is saved." in page
    assert '<time datetime="2027-05-17">' in page
    assert "for the spring sale" in page
    assert "IBA talc 1000 ppm" in page
    plan = browser.get("/plan").text
    assert "1 order is open" in plan
    assert "95 %" in plan


def test_the_usual_values_stand_for_blanks(browser: FlaskClient, database: Database) -> None:
    blanks = ("sure", "per_place", "enough_per_place", "batches", "window_weeks", "ready")
    order(browser, plants="500 plugs", **dict.fromkeys(blanks, ""))
    with database.reading() as session:
        entry = get_order(session, number=1).entry
    assert (entry.plants, entry.sure_share, entry.batches, entry.window_weeks) == (500, 0.9, 3, 3)
    assert (entry.per_place, entry.enough_per_place, entry.ready_share) == (1, 1, None)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"plants": ""}, "Give a number"),
        ({"plants": "0"}, "Give at least 1."),
        ({"plants": "12.5"}, "Give a whole number"),
        ({"plants": "many"}, "Give a number"),
        ({"plants": "5000000"}, "is too many"),
        ({"due_on": "31/2"}, "no such day in the calendar"),
        ({"due_on": "24 nov 2026"}, "give a day after today"),
        ({"due_on": "week 54"}, "no week 54"),
        ({"due_on": ""}, "Give a day such as"),
        ({"sure": "100"}, "Give a number in %, from 50 to 99."),
        ({"sure": "nine"}, "Give a number in %, from 50 to 99."),
        ({"ready": "0"}, "Give a number in %, from 5 to 100."),
        ({"batches": "2.5"}, "Give a whole number, from 1 to 20."),
        ({"per_place": "2 cm"}, "from 1 to 20."),
        ({"per_place": "2", "enough_per_place": "3"}, "from 1 to all that are stuck in it"),
        ({"weaning_days": "-1"}, "from 0 to 730."),
        ({"plant": ""}, "name"),
        ({"cutting_type": "sideways"}, "Choose one from the list."),
        ({"place": "bucket"}, "Choose plug or pot."),
        ({"hormone": "1000 ppm"}, "Name the substance first"),
    ],
)
def test_what_cannot_be_is_said_by_its_field(
    browser: FlaskClient, database: Database, typed: dict[str, str], sentence: str
) -> None:
    said = NEW | {"notes": "kept"} | typed
    answer = browser.post("/plan/orders/new", data=posted(**said))
    assert answer.status_code == 422
    assert any(sentence in problem for problem in problems_of(answer.text)), answer.text
    assert "kept</textarea>" in answer.text
    with database.reading() as session:
        assert list_orders(session) == ()


def test_units_may_be_typed_behind_numbers(browser: FlaskClient, database: Database) -> None:
    order(
        browser, batches="4 batches", window_weeks="6 weeks", weaning_days="28 days", ready="90 %"
    )
    with database.reading() as session:
        entry = get_order(session, number=1).entry
    assert (entry.batches, entry.window_weeks, entry.weaning_days, entry.ready_share) == (
        4,
        6,
        28,
        0.9,
    )


def test_an_order_is_corrected_with_what_was_typed(browser: FlaskClient) -> None:
    order(browser, per_place="3", enough_per_place="2", cutting_type="semi-ripe")
    page = browser.get("/plan/orders/1/edit").text
    assert 'value="17 May 2027"' in page
    typed = {"plant": "Hebe", "plants": "600", "due_on": "17 may 2027", "version": "1"}
    answer = browser.post("/plan/orders/1/edit", data=posted(**typed), follow_redirects=True)
    assert "600 " in answer.text
    assert "Order 1 is saved." in answer.text
    stale = browser.post("/plan/orders/1/edit", data=posted(**typed | {"plants": "700"}))
    assert stale.status_code == 409


def test_an_order_is_met_and_opened_again(browser: FlaskClient) -> None:
    order(browser)
    answer = browser.post("/plan/orders/1/met", data=posted(), follow_redirects=True)
    assert "Order 1 is met" in answer.text
    assert "Met or closed" in browser.get("/plan").text
    answer = browser.post("/plan/orders/1/open", data=posted(), follow_redirects=True)
    assert "Order 1 is open again." in answer.text


def test_an_order_is_closed_for_a_reason(browser: FlaskClient) -> None:
    order(browser)
    form = {"version": "1", "ended_on": "today"}
    refused = browser.post("/plan/orders/1/close", data=posted(**form, reason=""))
    assert refused.status_code == 422
    assert "Say why it is closed" in refused.text
    answer = browser.post(
        "/plan/orders/1/close", data=posted(**form, reason="called off"), follow_redirects=True
    )
    assert "called off" in answer.text


def test_an_order_just_added_is_taken_back(browser: FlaskClient) -> None:
    order(browser)
    answer = browser.post("/plan/orders/1/undo", data=posted(), follow_redirects=True)
    assert "taken back right after it was entered" in answer.text


def test_a_trainee_reads_only(browser: FlaskClient, sign_in: SignIn) -> None:
    order(browser)
    trainee = sign_in(Role.TRAINEE)
    page = trainee.get("/plan/orders/1").text
    assert "Correct it" not in page
    assert trainee.get("/plan/orders/new").status_code == 403
    assert trainee.post("/plan/orders/1/met", data=posted()).status_code == 403


def test_an_order_that_is_not_there(browser: FlaskClient) -> None:
    assert browser.get("/plan/orders/9").status_code == 404
