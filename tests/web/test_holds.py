"""The pages of holds, used without script."""

from collections.abc import Callable
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient

from app.domain.outcomes import Ending
from app.domain.people import Actor, Role
from app.store.queries.holds import get_hold
from app.store.session import Database
from tests.services.batch_records import add_bench, add_plant, from_stock_plant
from tests.services.batch_records import add_stock_plant as put_stock_plant
from tests.services.check_records import check, said, stick

SignIn = Callable[[Role], FlaskClient]
NEW = "/holds/new?code=S-0031"


@pytest.fixture(autouse=True)
def records(database: Database, head: Actor) -> None:
    """S-0031 with one batch here and one that is gone, and a batch beside the first."""
    with database.writing() as session:
        plant, bench = add_plant(session), add_bench(session)
        source = (from_stock_plant(put_stock_plant(session, plant)),)
        stick(session, head, plant=plant, sources=source, bench_id=bench)
        dead = stick(session, head, plant=plant, sources=source)
        check(session, head, dead, said(8, 0, ending=Ending.DUMPED))
        stick(session, head, plant=plant, bench_id=bench)


def posted(**typed: object) -> dict[str, object]:
    return {"post_key": token_urlsafe(18), **typed}


def place(browser: FlaskClient, **typed: object) -> None:
    said: dict[str, object] = {"suspected": "brown stems", "ways": ["itself", "taken from it"]}
    answer = browser.post(NEW, data=posted(**said | typed))
    assert answer.status_code == 303, answer.get_data(as_text=True)


def text(browser: FlaskClient, address: str) -> str:
    return " ".join(browser.get(address).get_data(as_text=True).split())


def test_a_trainee_places_it_and_sees_what_is_held_and_what_is_gone(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    assert 'href="/holds/new?code=S-0031"' in text(browser, "/stock-plants/S-0031")
    before = text(browser, NEW)
    assert "Taken from it: 1 here, 1 gone" in before
    assert "plant-health authority" in before
    place(browser)
    page = text(browser, "/holds/H-0001")
    assert "H-0001 is placed: 2 are on hold." in page
    assert "2 held." in page
    assert "1 still here, 1 gone or thrown out" in page
    assert "Mist bench 2" in page
    for address in ("/stock-plants/S-0031", "/batches/26-0001"):
        assert '<a href="/holds/H-0001">H-0001</a>' in text(browser, address)
    assert "/holds/H-0001" not in text(browser, "/batches/26-0003")
    assert browser.get("/search?q=h1").location == "/holds/H-0001"
    assert "brown stems" in text(browser, "/holds")


def test_how_far_it_goes_is_ticked(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.HEAD)
    place(browser, ways=[])
    with database.reading() as session:
        assert get_hold(session, code="H-0001").held == 1
    answer = browser.post(
        "/holds/new?code=26-0001",
        data=posted(suspected="spots", ways=["on the same bench at the time"]),
    )
    assert answer.status_code == 303
    assert "26-0003" in text(browser, "/holds/H-0002")


def test_what_is_wrong_is_said_by_its_field_and_the_rest_stays(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    answer = browser.post(NEW, data=posted(suspected="", since_on="soonish", ways=["itself"]))
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "Give a day such as" in page
    assert 'value="soonish"' in page
    answer = browser.post(NEW, data=posted(suspected="rot", ways=["by the moon"]))
    assert "Tick what is in the list." in answer.get_data(as_text=True)
    looked = browser.post(NEW, data=posted(suspected="rot", since_on="-5", look_again="yes"))
    assert looked.status_code == 200
    assert "Taken from it: 0 here" in " ".join(looked.get_data(as_text=True).split())
    assert browser.get("/holds/new?code=S-0099").status_code == 404


def test_only_the_head_lifts_it_from_one_and_from_all(sign_in: SignIn) -> None:
    place(sign_in(Role.TRAINEE))
    assert sign_in(Role.TRAINEE).get("/holds/H-0001/lift").status_code == 403
    browser = sign_in(Role.HEAD)
    refused = browser.post("/holds/H-0001/lift/2", data=posted(reason=""))
    assert refused.status_code == 422
    assert browser.get("/holds/H-0001/lift/99").status_code == 404
    freed = browser.post("/holds/H-0001/lift/2", data=posted(reason="looked at"))
    assert freed.status_code == 303
    assert "freed Wed 25 Nov: looked at" in text(browser, "/holds/H-0001").replace(
        "</time>", ""
    ).replace('<time datetime="2026-11-25">', "")
    lifted = browser.post("/holds/H-0001/lift", data=posted(reason="tested clean"))
    assert lifted.status_code == 303
    assert "tested clean" in text(browser, "/holds?lifted=yes")
    assert "Nothing is on hold." in text(browser, "/holds")
    assert "fit to cut" in text(browser, "/stock-plants/S-0031")


def test_it_is_taken_back_by_who_placed_it(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    place(browser)
    assert sign_in(Role.HEAD).post("/holds/H-0001/undo", data=posted()).status_code == 403
    browser = sign_in(Role.TRAINEE)
    assert browser.post("/holds/H-0001/undo", data=posted()).status_code == 303
    assert "taken back right after it was placed" in text(browser, "/holds/H-0001")


def test_what_comes_in_later_is_offered(sign_in: SignIn, database: Database, head: Actor) -> None:
    place(sign_in(Role.HEAD))
    with database.writing() as session:
        source = (from_stock_plant(1),)
        stick(session, head, plant=1, sources=source, hold_reason="for the laboratory")
    browser = sign_in(Role.TRAINEE)
    assert "1 more is reached since it was placed" in text(browser, "/holds/H-0001")
    assert browser.post("/holds/H-0001/more", data=posted()).status_code == 303
    page = text(browser, "/holds/H-0001")
    assert "3 held." in page
    assert "reached since it was placed" not in page
