"""Re-sticking from the page of a batch, and the marks that the second batch bears."""

import html
import re
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.store.models.batches import Batch
from app.store.session import Database
from tests.services.batch_records import add_plant
from tests.services.check_records import Stuck, check, lost, said, stick, totals
from tests.web.batch_pages import posted

SignIn = Callable[[Role], FlaskClient]

FORM = "/batches/new?restick=26-0001"


@pytest.fixture(autouse=True)
def _checked(database: Database, head: Actor) -> None:
    with database.writing() as session:
        batch = stick(session, head, plant=add_plant(session), stuck=100)
        check(session, head, batch, said(10, 40, lost=lost(12), callused=30))


def fields_of(page: str) -> dict[str, str]:
    """Return what the text boxes of a page hold, by their name."""
    found = {}
    for box in re.findall(r"<input [^>]*>", page):
        name, value = (re.search(rf'\b{part}="([^"]*)"', box) for part in ("name", "value"))
        if name and 'type="text"' in box:
            found[name[1]] = html.unescape(value[1]) if value else ""
    return posted(**found)


def restick(sign_in: SignIn, **typed: str) -> str:
    browser = sign_in(Role.TRAINEE)
    page = browser.get(FORM).get_data(as_text=True)
    answer = browser.post(FORM, data=fields_of(page) | typed, follow_redirects=True)
    return answer.get_data(as_text=True)


def test_one_link_leads_to_a_form_that_is_filled_in(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    assert FORM in browser.get("/batches/26-0001").get_data(as_text=True)
    assert FORM in browser.get("/checks/1").get_data(as_text=True)
    page = browser.get(FORM).get_data(as_text=True)
    assert "Stick the callused ones of 26-0001 again" in page
    typed = fields_of(page)
    assert (typed["stuck"], typed["restuck_from"], typed["hormone"]) == ("30", "26-0001", "")


def test_saving_clears_them_from_the_first_and_marks_the_second(
    sign_in: SignIn, database: Database
) -> None:
    page = restick(sign_in, hormone="IBA talc 3000 ppm")
    assert "<b>Re-stuck</b> from" in page
    with database.reading() as session:
        assert totals(session, Stuck(id=1, code="26-0001")) == (40, 12, 0, 30, 18)
        assert session.get_one(Batch, 2).restuck_from_id == 1
    browser = sign_in(Role.HEAD)
    assert "<b>re-stuck</b> from 26-0001" in browser.get("/batches").get_data(as_text=True)
    first = browser.get("/batches/26-0001").get_data(as_text=True)
    assert "30 re-stuck" in first
    # None of the callused is left, so the next form leaves the number to be typed.
    assert fields_of(browser.get(FORM).get_data(as_text=True))["stuck"] == ""
    assert "cuttings re-stuck" in first


def test_more_than_stood_there_is_refused_with_what_was_typed(sign_in: SignIn) -> None:
    page = restick(sign_in, stuck="49", notes="second dip")
    assert "only 48 stood there unrooted, so 49 cannot have been re-stuck" in page
    assert "second dip" in page


def test_rates_leave_them_out_unless_asked(sign_in: SignIn) -> None:
    restick(sign_in)
    browser = sign_in(Role.HEAD)

    def asked(restuck: str) -> str:
        address = f"/strike-rates?by=genus{restuck}"
        page = browser.get(address).get_data(as_text=True)
        return re.findall(r"Strike rate by genus[^<]*", page)[-1] + " " + page

    assert "genus: 1 batch, 100 cuttings" in asked("")
    assert "1 batch re-stuck from another left out" in asked("")
    assert "genus: 2 batches, 130 cuttings" in asked("&restuck=with")
    only = asked("&restuck=only")
    assert "only batches re-stuck from another: 1 batch, 30 cuttings" in only
    behind = browser.get("/strike-rates/batches?restuck=only").get_data(as_text=True)
    assert "<b>re-stuck</b> from 26-0001" in behind
    assert browser.get("/strike-rates?restuck=perhaps").status_code == 422
