"""The pages of dispatches, used without script."""

from collections.abc import Callable
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient

from app.domain.liner_stages import Stage
from app.domain.people import Actor, Role
from app.store.session import Database
from tests.services.liner_records import happened, pot, rooted_batch, stage

SignIn = Callable[[Role], FlaskClient]
SENT = {"sent_on": "today", "to_name": "Wetherby", "reference": "4711", "lines": "L-0001 30"}


@pytest.fixture(autouse=True)
def records(database: Database, head: Actor) -> None:
    with database.writing() as session:
        lot = pot(session, head, rooted_batch(session, head), 50)
        happened(session, head, lot, stage(Stage.READY, 5))


def posted(**typed: object) -> dict[str, object]:
    return {"post_key": token_urlsafe(18), **typed}


def text(browser: FlaskClient, address: str) -> str:
    return " ".join(browser.get(address).get_data(as_text=True).split())


def test_a_lot_leads_to_it_and_it_is_shown_and_undone(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    assert 'href="/dispatches/new?of=L-0001"' in text(browser, "/liner-lots/L-0001")
    assert "L-0001 </textarea>" in text(browser, "/dispatches/new?of=L-0001")
    answer = browser.post("/dispatches/new", data=posted(**SENT))
    assert (answer.status_code, answer.location) == (303, "/dispatches/G-0001")
    page = text(browser, "/dispatches/G-0001")
    assert "to Wetherby" in page
    assert "30 plants" in page
    assert "Wetherby" in text(browser, "/dispatches?find=4711")
    assert "Nothing fits these words." in text(browser, "/dispatches?find=nobody")
    assert browser.post("/dispatches/G-0001/undo", data=posted()).status_code == 303
    assert "<b>Withdrawn</b>" in text(browser, "/dispatches/G-0001")


def test_a_hold_says_what_was_sent_to_whom(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    browser.post("/dispatches/new", data=posted(**SENT))
    page = text(browser, "/holds/new?code=26-0001")
    assert "Sent out, and to whom" in page
    assert '<td data-head="To whom">Wetherby</td>' in page
    assert "Liner lots that still hold plants of them" in page


def test_what_is_wrong_is_said_by_its_field_and_the_rest_stays(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    for wrong, said in (
        ({"lines": "L-0001"}, "Line 1 is to be a code and a number"),
        ({"lines": "L-0001 51"}, "L-0001: "),
        ({"lines": "L-0009 1"}, "no liner lot and no batch L-0009"),
        ({"to_name": ""}, "Say to whom"),
        ({"sent_on": "soon"}, "Give a day such as"),
    ):
        answer = browser.post("/dispatches/new", data=posted(**SENT | wrong))
        assert answer.status_code == 422
        assert said in answer.get_data(as_text=True)
        assert 'value="4711"' in answer.get_data(as_text=True)


def test_the_head_puts_right_to_whom(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    browser.post("/dispatches/new", data=posted(**SENT))
    fixed = {"to_name": "Ashdown", "reference": "4712", "notes": "", "version": "1"}
    assert browser.post("/dispatches/G-0001/edit", data=posted(**fixed)).status_code == 303
    assert "to Ashdown" in text(browser, "/dispatches/G-0001")
    refused = browser.post("/dispatches/G-0001/withdraw", data=posted(reason=""))
    assert refused.status_code == 422
    assert sign_in(Role.TRAINEE).get("/dispatches/G-0001/edit").status_code == 403
