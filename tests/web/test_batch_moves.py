"""Moving a batch as somebody does it without script."""

import re
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from app.domain.people import Role
from app.store.session import Database
from tests.services.batch_records import add_bench
from tests.web.batch_pages import posted, set_up_nursery, stick, story, text_of

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture
def browser(sign_in: SignIn, database: Database) -> FlaskClient:
    set_up_nursery(database)
    with database.writing() as session:
        add_bench(session, "Cold frame A", 2)
    browser = sign_in(Role.TRAINEE)
    stick(browser, stuck="5 trays of 84", stuck_on="-10")
    return browser


def move(browser: FlaskClient, **typed: str) -> str:
    data = posted(**({"bench": "2", "moved_on": "t"} | typed))
    return text_of(browser.post("/batches/26-0001/move", data=data, follow_redirects=True))


def test_a_move_is_saved_told_and_undone(browser: FlaskClient, database: Database) -> None:
    assert "It stands on Mist bench 2 since" in text_of(browser.get("/batches/26-0001/move"))
    page = move(browser)
    assert "26-0001 is on Cold frame A since Wed 25 Nov." in page
    assert story(database).benches == ("Cold frame A",)
    assert "batch moved" in page
    undo = re.search(r'action="(/batches/26-0001/move/undo[^"]*)"', page)
    assert undo is not None
    back = browser.post(undo[1].replace("&amp;", "&"), data=posted(), follow_redirects=True)
    assert "stands again where it stood" in text_of(back)
    assert story(database).benches == ("Mist bench 2",)


def test_some_trays_move(browser: FlaskClient, database: Database) -> None:
    assert "2 trays of 26-0001 are on Cold frame A" in move(browser, trays="2")
    assert set(story(database).benches) == {"Mist bench 2", "Cold frame A"}
    assert 'name="from_bench"' in text_of(browser.get("/batches/26-0001/move"))


def test_a_batch_leaves_the_benches(browser: FlaskClient, database: Database) -> None:
    assert "26-0001 is off the benches since" in move(browser, bench="off")
    assert story(database).benches == ()
    assert "Stands on no bench." in text_of(browser.get("/batches/26-0001"))


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"bench": ""}, "bench"),
        ({"bench": "99"}, "bench"),
        ({"bench": "1"}, "bench"),
        ({"moved_on": "soon"}, "moved_on"),
        ({"moved_on": "-11"}, "moved_on"),
        ({"trays": "9"}, "trays"),
        ({"trays": "x"}, "trays"),
    ],
)
def test_what_cannot_be_stands_by_its_field(
    browser: FlaskClient, database: Database, typed: dict[str, str], field: str
) -> None:
    page = move(browser, **typed)
    assert f'id="{field}-error"' in page
    assert story(database).benches == ("Mist bench 2",)


def test_a_manager_does_not_move(sign_in: SignIn, browser: FlaskClient) -> None:
    manager = sign_in(Role.MANAGER)
    assert "Move it" not in text_of(manager.get("/batches/26-0001"))
    assert manager.get("/batches/26-0001/move").status_code == 403
