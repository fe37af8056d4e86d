"""What the outbox of a device is told, by the status and the words that its script acts on."""

import re
from collections.abc import Callable
from datetime import date
from secrets import token_urlsafe
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from app.domain.people import Actor, Role
from app.store.fair_lock import TooBusy
from app.store.queries.checks import list_checks
from app.store.session import Database
from app.web.pages import checks
from tests.services.batch_records import add_plant
from tests.services.check_records import stick
from tests.web.test_checks import posted

SignIn = Callable[[Role], FlaskClient]
ADDRESS = "/batches/26-0001/checks/new"
TRAINEE = {"Strikewell-Person": "key-of-trainee"}


@pytest.fixture(autouse=True)
def _batch(database: Database, head: Actor) -> None:
    """Batch 26-0001 of 96."""
    with database.writing() as session:
        stick(session, head, plant=add_plant(session))


def number_of_checks(database: Database) -> int:
    with database.reading() as session:
        return len(list_checks(session, batch_id=1))


def said(answer: TestResponse) -> dict[str, Any]:
    found: dict[str, Any] = answer.get_json()
    return found


def test_what_was_saved_is_said_with_its_undo(sign_in: SignIn, database: Database) -> None:
    client = sign_in(Role.TRAINEE)
    answer = client.post(ADDRESS, data=posted(rooted="12"), headers=TRAINEE)
    assert answer.status_code == 200
    assert said(answer)["outcome"] == "saved"
    assert "12 newly rooted" in said(answer)["message"]
    assert said(answer)["location"] == "/batches/26-0001"
    assert number_of_checks(database) == 1
    undone = client.post(
        said(answer)["undo"], data={"post_key": token_urlsafe(18)}, headers=TRAINEE
    )
    assert said(undone)["outcome"] == "saved"


def test_only_a_page_that_goes_on_hears_it_again(sign_in: SignIn) -> None:
    client = sign_in(Role.TRAINEE)
    client.post(ADDRESS, data=posted(rooted="12"), headers=TRAINEE)
    assert "12 newly rooted" not in notices(client)
    opens = TRAINEE | {"Strikewell-Then": "open"}
    client.post(ADDRESS, data=posted(rooted="3"), headers=opens)
    assert "3 newly rooted" in notices(client)


def notices(client: FlaskClient) -> str:
    page = client.get("/waiting").get_data(as_text=True)
    return " ".join(re.findall(r"data-saved>(.*?)</div>", page, re.DOTALL))


def test_the_same_entry_sent_again_is_answered_as_before(
    sign_in: SignIn, database: Database
) -> None:
    client = sign_in(Role.TRAINEE)
    entry = posted(rooted="12")
    first = client.post(ADDRESS, data=entry, headers=TRAINEE)
    again = client.post(ADDRESS, data=entry, headers=TRAINEE | {"Strikewell-Waited": "400"})
    assert said(again) == said(first)
    assert number_of_checks(database) == 1


def test_what_is_refused_says_why(sign_in: SignIn, database: Database) -> None:
    client = sign_in(Role.TRAINEE)
    wrong = posted(rooted="97", lost__0__number="x")
    answer = client.post(ADDRESS, data=wrong, headers=TRAINEE)
    assert answer.status_code == 422
    assert said(answer)["outcome"] == "refused"
    assert len(said(answer)["sentences"]) == 1
    assert said(answer)["targets"] == ["lost-0-number"]
    assert number_of_checks(database) == 0


def test_a_record_that_is_not_there_is_refused(sign_in: SignIn) -> None:
    client = sign_in(Role.TRAINEE)
    address = "/batches/26-9999/checks/new"
    answer = client.post(address, data=posted(rooted="1"), headers=TRAINEE)
    assert answer.status_code == 404
    assert said(answer)["outcome"] == "refused"


def test_an_entry_of_somebody_else_is_not_taken(sign_in: SignIn, database: Database) -> None:
    head = sign_in(Role.HEAD)
    answer = head.post(ADDRESS, data=posted(rooted="12"), headers=TRAINEE)
    assert answer.status_code == 401
    assert said(answer) == {"outcome": "sign in"}
    assert number_of_checks(database) == 0


def test_nobody_signed_in_is_asked_to_sign_in(client: FlaskClient, database: Database) -> None:
    answer = client.post(ADDRESS, data=posted(rooted="12"), headers=TRAINEE)
    assert answer.status_code == 401
    assert said(answer) == {"outcome": "sign in"}
    assert number_of_checks(database) == 0


def test_a_token_that_failed_brings_one_that_holds(
    guarded_app: Flask, sign_in: SignIn, database: Database
) -> None:
    client = sign_in(Role.TRAINEE)
    assert guarded_app.config["WTF_CSRF_ENABLED"]
    entry = posted(rooted="12")
    stale = client.post(ADDRESS, data=entry | {"csrf_token": "stale"}, headers=TRAINEE)
    assert stale.status_code == 400
    assert said(stale)["outcome"] == "send again"
    assert number_of_checks(database) == 0
    fresh = client.post(ADDRESS, data=entry | {"csrf_token": said(stale)["token"]}, headers=TRAINEE)
    assert said(fresh)["outcome"] == "saved"
    assert number_of_checks(database) == 1


@pytest.mark.parametrize(
    ("fault", "status", "outcome"),
    [(TooBusy("Others are writing."), 503, "wait"), (RuntimeError("broken"), 500, "trouble")],
)
def test_an_entry_waits_where_the_log_cannot_take_it(
    sign_in: SignIn,
    app: Flask,
    monkeypatch: pytest.MonkeyPatch,
    fault: Exception,
    status: int,
    outcome: str,
) -> None:
    client = sign_in(Role.TRAINEE)
    app.config["PROPAGATE_EXCEPTIONS"] = False

    def fail(*_args: object, **_kwargs: object) -> None:
        raise fault

    monkeypatch.setattr(checks, "record_check", fail)
    answer = client.post(ADDRESS, data=posted(rooted="12"), headers=TRAINEE)
    assert answer.status_code == status
    assert said(answer)["outcome"] == outcome


def waited(seconds: int, **more: str) -> dict[str, str]:
    return TRAINEE | {"Strikewell-Waited": str(seconds)} | more


def test_when_it_was_recorded_and_received_is_told(sign_in: SignIn) -> None:
    client = sign_in(Role.TRAINEE)
    client.post(ADDRESS, data=posted(rooted="12"), headers=waited(83 * 60))
    told = "recorded 07:37 on a device, received 09:00"
    assert told in client.get("/checks/1").get_data(as_text=True)
    assert told in client.get("/batches/26-0001").get_data(as_text=True)


def test_what_was_received_at_once_says_nothing_of_it(sign_in: SignIn) -> None:
    client = sign_in(Role.TRAINEE)
    client.post(ADDRESS, data=posted(rooted="12"), headers=waited(2))
    assert "on a device" not in client.get("/checks/1").get_data(as_text=True)


@pytest.mark.parametrize(
    ("typed", "seconds", "day"),
    [
        ("today", 10 * 3600, date(2026, 11, 24)),
        ("-1", 10 * 3600, date(2026, 11, 23)),
        ("today", 8 * 3600, date(2026, 11, 25)),
        # Not believed, so that it moves no day.
        ("today", 40 * 24 * 3600, date(2026, 11, 25)),
        ("today", -40 * 3600, date(2026, 11, 25)),
    ],
)
def test_today_is_the_day_it_was_recorded_on(
    sign_in: SignIn, database: Database, typed: str, seconds: int, day: date
) -> None:
    client = sign_in(Role.TRAINEE)
    entry = posted(rooted="12", checked_on=typed)
    client.post(ADDRESS, data=entry, headers=waited(seconds))
    with database.reading() as session:
        (check,) = list_checks(session, batch_id=1)
    assert check.counts.checked_on == day


def test_a_batch_is_found_by_the_mark_it_stood_under(sign_in: SignIn) -> None:
    client = sign_in(Role.TRAINEE)
    entry = {
        "post_key": token_urlsafe(18),
        "plant": "Hebe 'Great Orme'",
        "stuck": "84",
        "stuck_on": "today",
    }
    answer = client.post(
        "/batches/new", data=entry, headers=waited(600, **{"Strikewell-Mark": "KT-3"})
    )
    assert said(answer)["outcome"] == "saved", said(answer)
    found = client.get("/search?q=kt-3")
    assert found.location == said(answer)["location"] == "/batches/26-0002"
    page = client.get(found.location).get_data(as_text=True)
    assert "recorded 08:50 on a device, received 09:00; its label said KT-3 until then" in page
