"""Calendar addresses: made, renewed and ended on a page, and read without signing in."""

import re
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient
from icalendar import Calendar

from app.domain.people import Actor, Role
from app.store.session import Database
from tests.services.batch_records import add_bench, add_plant
from tests.services.check_records import stick

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture
def browser(sign_in: SignIn, database: Database, head: Actor) -> FlaskClient:
    with database.writing() as session:
        plant, bench = add_plant(session), add_bench(session, "Mist bench 2")
        stick(session, head, plant=plant, bench_id=bench)
        stick(session, head, plant=plant)
    return sign_in(Role.TRAINEE)


def make(browser: FlaskClient, scope: str) -> str:
    """Make a calendar address and return its path."""
    key = f"calendar-for-{scope.replace(' ', '-')}-here"
    answer = browser.post("/calendars", data={"post_key": key, "scope": scope})
    assert answer.status_code == 303, answer.text
    return paths(browser)[-1]


def paths(browser: FlaskClient) -> list[str]:
    found = re.findall(r'href="(/calendar/[^"]+\.ics)"', browser.get("/calendars").text)
    return list(found)


def signed_out(client: FlaskClient) -> FlaskClient:
    with client.session_transaction() as cookie:
        cookie.clear()
    return client


def test_a_calendar_is_read_without_signing_in(browser: FlaskClient) -> None:
    page = browser.get("/calendars").text
    assert "You have no calendar address yet" in page
    assert "Whoever has the address sees" in page
    path = make(browser, "all")
    answer = signed_out(browser).get(path)
    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    events = Calendar.from_ical(answer.data).walk("VEVENT")
    assert {str(event["summary"]).split(" Hebe")[0].split(" ")[-1] for event in events} == {
        "26-0001",
        "26-0002",
    }
    assert "Farrow" not in answer.text
    again = browser.get(path, headers={"If-None-Match": answer.headers["ETag"]})
    assert again.status_code == 304


def test_one_bench_is_told_by_itself(browser: FlaskClient) -> None:
    path = make(browser, "bench 1")
    events = Calendar.from_ical(browser.get(path).data).walk("VEVENT")
    assert events
    assert {str(event["location"]) for event in events} == {"Mist bench 2"}
    assert "<h2>Mist bench 2</h2>" in browser.get("/calendars").text


def test_a_renewed_address_kills_the_old_one_and_an_ended_one_is_gone(
    browser: FlaskClient,
) -> None:
    old = make(browser, "own")
    renewed = browser.post("/calendars/1/renew", data={"post_key": "renew-the-address"})
    assert renewed.status_code == 303
    (new,) = paths(browser)
    assert browser.get(old).status_code == 404
    assert browser.get(new).status_code == 200
    assert (
        browser.post("/calendars/1/end", data={"post_key": "end-the-address-1"}).status_code == 303
    )
    assert browser.get(new).status_code == 404
    assert paths(browser) == []


def test_what_is_none_is_answered_in_words(browser: FlaskClient) -> None:
    for path in ("/calendar/1-nonsense.ics", "/calendar/x.ics"):
        answer = signed_out(browser).get(path)
        assert answer.status_code == 404
        assert "There is no calendar at this address" in answer.text


def test_a_choice_outside_the_list_is_refused_by_its_field(browser: FlaskClient) -> None:
    for scope in ("bench 77", "bench", "everything", ""):
        answer = browser.post(
            "/calendars", data={"post_key": "calendar-of-nothing-1", "scope": scope}
        )
        assert answer.status_code == 422
        assert 'id="scope-error"' in answer.text


def test_nobody_sees_or_changes_anothers(browser: FlaskClient, sign_in: SignIn) -> None:
    path = make(browser, "all")
    head = sign_in(Role.HEAD)
    assert paths(head) == []
    answer = head.post("/calendars/1/renew", data={"post_key": "renew-anothers-one"})
    assert answer.status_code == 404
    assert head.get(path).status_code == 200


@pytest.mark.parametrize("address", ["/", "/records"])
def test_today_and_records_lead_there(browser: FlaskClient, address: str) -> None:
    assert 'href="/calendars"' in browser.get(address).text
