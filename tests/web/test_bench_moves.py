"""All of a bench moved, the order on it, and the maps of the house, used without script."""

from collections.abc import Callable
from datetime import timedelta
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.store.models.benches import Bench
from app.store.session import Database
from tests.conftest import TODAY
from tests.services.batch_records import add_container, add_plant
from tests.services.check_records import stick

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture(autouse=True)
def house(database: Database, head: Actor) -> None:
    with database.writing() as session:
        plant = add_plant(session)
        for order, (name, room) in enumerate((("Mist bench 2", 12), ("Cold frame", 4)), start=1):
            session.add(Bench(name=name, walking_order=order, capacity_trays=room))
        session.flush()
        for _ in range(3):
            stick(session, head, plant=plant, bench_id=1, trays=2, per_tray=48, gaps=0)


def posted(**typed: str | list[str]) -> dict[str, str | list[str]]:
    return {"post_key": token_urlsafe(18), **typed}


def text(browser: FlaskClient, address: str) -> str:
    return browser.get(address).get_data(as_text=True)


def test_all_of_a_bench_is_moved_warned_about_and_taken_back(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    assert 'href="/benches/1/move">Move all of it' in text(browser, "/benches/1")
    typed = posted(bench="2", moved_on="today")
    for _ in range(2):
        assert browser.post("/benches/1/move", data=typed).status_code == 303
    page = text(browser, "/benches/2")
    assert "3 batches from Mist bench 2 are on Cold frame since" in page
    assert "Cold frame now holds 6 trays; there is room for 4." in page
    assert "6 of 4 trays, 2 too many" in page
    undo = page[page.index('action="/benches/moves/') + 8 :].split('"')[0]
    assert browser.post(undo, data=posted()).status_code == 303
    assert "3 batches with something unrooted" in text(browser, "/benches/1")


def test_what_is_ticked_stays(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    typed = posted(bench="off", moved_on="today", excepted=["1", "3"])
    assert browser.post("/benches/1/move", data=typed).status_code == 303
    page = text(browser, "/benches/1")
    assert "1 batch from Mist bench 2 is off the benches" in page
    assert "2 batches with something unrooted" in page


def test_a_refusal_keeps_what_was_typed(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    answer = browser.post("/benches/1/move", data=posted(bench="", moved_on="soon", excepted=["2"]))
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "Choose where they stand now" in page
    assert 'value="soon"' in page
    assert 'value="2" checked' in page


def test_the_order_on_a_bench_is_put_by_buttons(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    assert browser.post("/benches/1/order/3/2", data=posted()).status_code == 303
    page = text(browser, "/benches/1")
    assert page.index(">26-0001<") < page.index(">26-0003<") < page.index(">26-0002<")
    walk = text(browser, "/benches/1/walk")
    assert walk.index("26-0003") < walk.index("26-0002")
    assert browser.post("/benches/2/order/3/1", data=posted()).status_code == 404


def test_a_single_batch_moved_over_the_room_is_warned_of(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    for code in ("26-0001", "26-0002", "26-0003"):
        typed = posted(bench="2", moved_on="today")
        assert browser.post(f"/batches/{code}/move", data=typed).status_code == 303
        page = text(browser, f"/batches/{code}")
    assert "Cold frame now holds 6 trays; there is room for 4." in page


def test_the_house_today_and_on_another_day(sign_in: SignIn) -> None:
    browser = sign_in(Role.MANAGER)
    page = text(browser, "/benches/house")
    assert "All 2 benches have room for what stands there today" in page
    assert "6 of 12 trays, room for 6 more" in page
    assert page.index("Mist bench 2") < page.index("Cold frame")
    before = text(browser, "/benches/house?on=-60")
    assert "26-0001" not in before
    refused = browser.get(f"/benches/house?on={TODAY + timedelta(days=1)}")
    assert refused.status_code == 422
    assert "is still to come" in refused.get_data(as_text=True)


def test_a_bench_on_another_day(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    browser.post("/benches/1/move", data=posted(bench="2", moved_on="-3"))
    text(browser, "/")
    page = text(browser, "/benches/1/day?on=-4")
    assert "6 of 12 trays" in page
    assert "26-0002" in page
    assert "No batch stood here on that day" in text(browser, "/benches/1/day?on=-3")
    refused = browser.get("/benches/1/day?on=never")
    assert refused.status_code == 422
    assert 'value="never"' in refused.get_data(as_text=True)


def test_sticking_over_the_room_is_warned_of_and_not_stopped(
    sign_in: SignIn, database: Database
) -> None:
    with database.writing() as session:
        add_container(session)
    browser = sign_in(Role.TRAINEE)
    typed = posted(
        plant="Hebe 'Great Orme'", stuck="5 trays of 84", container="1", bench="2", stuck_on="today"
    )
    assert browser.post("/batches/new", data=typed).status_code == 303
    page = text(browser, "/batches/26-0004")
    assert "26-0004 is saved" in page
    assert "Cold frame now holds 5 trays; there is room for 4." in page


def test_today_follows_the_order_on_the_bench(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    browser.post("/benches/1/order/3/1", data=posted())
    text(browser, "/benches")
    page = text(browser, "/")
    assert page.index("26-0003") < page.index("26-0001") < page.index("26-0002")
