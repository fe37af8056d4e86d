"""The pages of treatments, used without script."""

from collections.abc import Callable
from datetime import timedelta
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient

from app.clock import FixedClock
from app.domain.people import Actor, Role
from app.store.queries.treatments import get_treatment
from app.store.session import Database
from tests.conftest import NOW
from tests.services.batch_records import add_bench, add_plant, add_stock_plant
from tests.services.check_records import stick

SignIn = Callable[[Role], FlaskClient]
SPRAY = {
    "kind": "plant protection",
    "what": "Fungicide as on its label",
    "rate": "2 g in 10 litres",
    "target": "grey mould",
    "way": "sprayed",
    "benches": "1",
    "stock_plants": "s31",
    "by": "1",
    "begun_on": "today",
    "begun_time": "8.30",
    "reentry_on": "today",
    "reentry_time": "20:00",
}


@pytest.fixture(autouse=True)
def records(database: Database, head: Actor) -> None:
    with database.writing() as session:
        plant = add_plant(session)
        add_stock_plant(session, plant)
        stick(session, head, plant=plant, bench_id=add_bench(session))


def posted(**typed: str) -> dict[str, str]:
    return {"post_key": token_urlsafe(18), **typed}


def record(browser: FlaskClient, **typed: str) -> None:
    answer = browser.post("/treatments/new", data=posted(**SPRAY | typed))
    assert answer.status_code == 303, answer.get_data(as_text=True)


def text(browser: FlaskClient, address: str) -> str:
    return browser.get(address).get_data(as_text=True)


def test_it_is_written_down_as_typed_and_shown_where_it_reached(
    sign_in: SignIn, database: Database
) -> None:
    browser = sign_in(Role.TRAINEE)
    record(browser)
    with database.reading() as session:
        known = get_treatment(session, code="T-0001")
    assert (known.what, known.rate, known.way, known.benches) == (
        "Fungicide as on its label",
        "2 g in 10 litres",
        "sprayed",
        ("Mist bench 2",),
    )
    assert known.reentry_at == NOW.replace(hour=20)
    for address in ("/batches/26-0001", "/benches/1", "/stock-plants/S-0031", "/treatments"):
        page = text(browser, address)
        assert "Fungicide as on its label" in page, address
    page = text(browser, "/treatments/T-0001")
    assert "26-0001" in page
    assert "S-0031" in page
    assert "Only trained users" in page


def test_the_warning_stands_while_the_re_entry_time_runs(
    sign_in: SignIn, clock: FixedClock
) -> None:
    browser = sign_in(Role.TRAINEE)
    record(browser)
    addresses = (
        "/", "/batches/26-0001", "/batches/26-0001/checks/new", "/benches/1", "/benches/1/walk",
        "/benches/1/move", "/treatments",
    )  # fmt: skip
    for address in addresses:
        assert "Keep out before 20:00 on Wed 25 November 2026" in text(browser, address), address
    clock.instant = NOW + timedelta(hours=11, minutes=1)
    for address in addresses:
        assert "Keep out before" not in text(browser, address), address


def test_a_wrong_one_is_withdrawn_and_entered_again(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    record(browser)
    refused = browser.post("/treatments/T-0001/withdraw", data=posted(reason=""))
    assert refused.status_code == 422
    answer = browser.post("/treatments/T-0001/withdraw", data=posted(reason="bench 3 it was"))
    assert answer.status_code == 303
    page = text(browser, "/treatments/T-0001")
    assert "bench 3 it was" in page
    assert "Fungicide" not in text(browser, "/batches/26-0001")
    assert "<del>" in text(browser, "/treatments")
    again = text(browser, "/treatments/new?like=T-0001")
    assert 'value="8:30"' in again or 'value="08:30"' in again
    assert 'value="20:00"' in again
    assert 'value="S-0031"' in again


def test_undo_takes_it_back(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    record(browser)
    page = text(browser, "/treatments/T-0001")
    assert 'action="/treatments/T-0001/undo"' in page
    assert browser.post("/treatments/T-0001/undo", data=posted()).status_code == 303
    assert "taken back right after it was entered" in text(browser, "/treatments/T-0001")


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"kind": "magic"}, "Choose one from the list"),
        ({"benches": "99"}, "Choose benches from the list"),
        ({"batches": "26-0001, 26-9999"}, "Not in the log: 26-9999"),
        ({"begun_on": ""}, "Give the day of this time too"),
        ({"begun_on": "", "begun_time": ""}, "Give the day and the time it was begun"),
        ({"reentry_time": ""}, "Give a time of day"),
        ({"rate": ""}, "as on the product label"),
    ],
)
def test_a_refusal_keeps_what_was_typed(
    sign_in: SignIn, changes: dict[str, str], says: str
) -> None:
    browser = sign_in(Role.HEAD)
    answer = browser.post("/treatments/new", data=posted(**SPRAY | changes))
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert says in page
    assert 'value="grey mould"' in page
    assert "Error: " in page


def test_the_list_is_paged_and_by_kind(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    for number in range(52):
        record(browser, kind="feed", what=f"Feed {number}", reentry_on="", reentry_time="")
    record(browser, kind="mist setting", what="8 s every 12 min", reentry_on="", reentry_time="")
    text(browser, "/treatments")
    page = text(browser, "/treatments?kind=feed")
    assert "Feed 51" in page
    assert "8 s every" not in page
    assert "Feed 1," not in page
    older = page[page.index('rel="next" href="') + 17 :].split('"')[0].replace("&amp;", "&")
    assert "Feed 1," in text(browser, older)
