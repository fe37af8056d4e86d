"""Rounds on paper by page: made, printed, typed in, refused by the line, never stored twice."""

import re
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import func, select

from app.clock import FixedClock
from app.domain.people import Actor, Role
from app.store.models.checks import Check
from app.store.session import Database
from tests.services.batch_records import add_bench, add_plant
from tests.services.check_records import Stuck, check, said, stick

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture
def made(database: Database, head: Actor, sign_in: SignIn) -> FlaskClient:
    """A trainee's browser, and a sheet of three late batches on one bench and on none."""
    with database.writing() as session:
        plant, bench = add_plant(session), add_bench(session)
        for bench_id in (None, bench, bench):
            stick(session, head, plant=plant, bench_id=bench_id)
    client = sign_in(Role.TRAINEE)
    assert client.post("/round-sheets/new", data={"bench": ""}).location == "/round-sheets/1"
    return client


def checks(database: Database) -> int:
    with database.reading() as session:
        return session.scalar(select(func.count()).select_from(Check)) or 0


def type_in(client: FlaskClient, **typed: str) -> Any:
    lines = {name.replace("_", "-"): text for name, text in typed.items()}
    whole = {"checked_on": "today", "checked_by": "2", "typed_as": "new"}
    return client.post("/round-sheets/1/entry", data=whole | lines)


def error_of(page: str, field: str) -> str:
    return page.partition(f'id="{field}-error">')[2].partition("</p>")[0]


def test_the_sheet_has_boxes_and_says_its_number_on_every_page(made: FlaskClient) -> None:
    page = made.get("/round-sheets/1").text
    assert "Round sheet 1 is fixed: print this page." in page
    head = page.partition("<thead>")[2].partition("</thead>")[0]
    assert "<b>Round sheet 1</b>" in head
    assert "New rooted" in head
    foot = page.partition("<tfoot>")[2].partition("</tfoot>")[0]
    assert "<b>1</b> basal rot" in foot
    assert re.findall(r">(26-\d{4})</a></th>", page) == ["26-0002", "26-0003", "26-0001"]
    assert page.index("Mist bench 2") < page.index("No bench recorded")
    assert page.count('class="box"') == 9
    assert "96 of 96" in page


def test_it_is_found_from_today_and_records(made: FlaskClient) -> None:
    page = made.get("/").text
    assert 'href="/round-sheets/new?bench=1"' in page
    assert 'href="/round-sheets"' in made.get("/records").text
    assert 'href="/round-sheets/1"' in made.get("/round-sheets").text
    assert "0 of 3, go on" in made.get("/round-sheets").text


def test_a_bench_can_be_chosen(made: FlaskClient) -> None:
    page = made.get("/round-sheets/new?bench=1").text
    assert '<option selected value="1">on Mist bench 2</option>' in page
    made.post("/round-sheets/new", data={"bench": "1"})
    assert "2 lines are open" not in made.get("/round-sheets/2").text
    assert "0 of 2 lines are typed in" in made.get("/round-sheets/2").text
    wrong = made.post("/round-sheets/new", data={"bench": "77"})
    assert wrong.status_code == 422
    assert "Choose a bench from the list." in wrong.text


def test_nothing_due_is_said(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    assert "No round has been printed yet" in client.get("/round-sheets").text
    answer = client.post("/round-sheets/new", data={"bench": ""})
    assert answer.status_code == 422
    assert "Nothing is late or due today" in error_of(answer.text, "bench")


def test_good_lines_are_stored_and_wrong_ones_come_back_as_typed(
    made: FlaskClient, database: Database
) -> None:
    answer = type_in(made, rooted_1="12", lost_1="3", cause_1="gr", rooted_2="many", looked_3="y")
    assert answer.status_code == 422
    page = answer.text
    assert "<title>Error:" in page
    assert "2 lines are stored." in page
    assert "Give a number" in error_of(page, "rooted-2")
    assert 'href="#rooted-2"' in page
    assert 'value="many"' in page
    assert "12 newly rooted, 3 lost (grey mould 3)" in page
    assert 'name="rooted-1"' not in page
    assert checks(database) == 2
    # The very same form again: nothing is doubled, and what was wrong is told again.
    answer = type_in(made, rooted_1="12", lost_1="3", cause_1="gr", rooted_2="many", looked_3="y")
    assert (answer.status_code, checks(database)) == (422, 2)
    assert 'value="many"' in answer.text
    mended = type_in(made, rooted_2="4")
    assert (mended.status_code, mended.location) == (303, "/round-sheets/1")
    page = made.get("/round-sheets/1").text
    assert "The sheet is typed in." in page
    assert "3 of 3 lines are typed in" in page
    assert "Every line of this sheet is typed in" in made.get("/round-sheets/1/entry").text


def test_blank_lines_stay_open(made: FlaskClient, database: Database) -> None:
    answer = type_in(made, rooted_2="0")
    assert answer.location == "/round-sheets/1/entry"
    page = made.get("/round-sheets/1/entry").text
    assert "1 line is stored. 2 left blank." in page
    assert checks(database) == 1
    (first,) = re.findall(r"<input[^>]*autofocus[^>]*>", page)
    assert 'name="rooted-1"' in first
    nothing = type_in(made)
    assert nothing.status_code == 422
    assert "Nothing was typed in." in nothing.text


def test_the_day_and_the_person_hold_for_all_lines(made: FlaskClient, database: Database) -> None:
    data = {"checked_on": "-2", "checked_by": "1", "typed_as": "what is left", "rooted-1": "90"}
    made.post("/round-sheets/1/entry", data=data)
    page = made.get("/checks/1").text
    assert "Mon 23 Nov" in page
    assert "Ines Farrow" in page
    assert "6 newly rooted" in page
    for day in ("soon", "+3"):
        answer = made.post("/round-sheets/1/entry", data=data | {"checked_on": day})
        assert answer.status_code == 422
        assert error_of(answer.text, "checked_on")


def test_other_content_for_a_stored_line_is_told_on_top(made: FlaskClient) -> None:
    type_in(made, rooted_1="12")
    answer = type_in(made, rooted_1="13")
    assert answer.status_code == 422
    assert "Line 1, 26-0002, is stored already: 12 newly rooted" in answer.text


def test_a_batch_checked_meanwhile_is_said_by_its_line(
    made: FlaskClient, clock: FixedClock
) -> None:
    def check_by_page(code: str, rooted: str) -> None:
        typed = {"checked_on": "today", "rooted": rooted, "version": "1"}
        assert made.post(f"/batches/{code}/checks/new", data=typed).status_code == 303

    clock.instant = clock.now().replace(hour=10)
    check_by_page("26-0003", "7")
    page = made.get("/round-sheets/1/entry").text
    assert page.count("since the sheet was printed") == 1
    assert "7 newly rooted" in page
    answer = type_in(made, rooted_1="1", rooted_2="7")
    assert answer.status_code == 422
    assert "1 line is stored." in answer.text
    assert "tick that" in error_of(answer.text, "again-2")
    assert type_in(made, rooted_2="2", again_2="y").status_code == 303


def test_forty_identical_posts_at_once_store_each_line_once(
    made: FlaskClient, app: Flask, database: Database
) -> None:
    cookie = made.get_cookie(app.config["SESSION_COOKIE_NAME"])
    assert cookie is not None

    def post(_: int) -> int:
        client = app.test_client()
        client.set_cookie(cookie.key, cookie.value)
        return int(type_in(client, rooted_1="1", rooted_2="2", looked_3="y").status_code)

    with ThreadPoolExecutor(max_workers=8) as pool:
        assert set(pool.map(post, range(40))) == {303}
    assert checks(database) == 3


def test_a_token_that_does_not_hold_keeps_what_was_typed(
    made: FlaskClient, guarded_app: Flask, database: Database
) -> None:
    answer = type_in(made, rooted_1="12")
    assert answer.status_code == 422
    assert "open too long" in answer.text
    assert 'value="12"' in answer.text
    assert checks(database) == 0


def test_who_only_reads_sees_sheets_and_types_nothing(made: FlaskClient, sign_in: SignIn) -> None:
    client = sign_in(Role.MANAGER)
    assert "Type it in" not in client.get("/round-sheets/1").text
    assert client.get("/round-sheets/1/entry").status_code == 403
    assert client.get("/round-sheets/9").status_code == 404


def test_a_cleared_batch_is_said_by_its_line(
    made: FlaskClient, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        check(session, head, Stuck(id=1, code="26-0001"), said(0, rooted=96))
    page = made.get("/round-sheets/1/entry").text
    assert "Cleared since: nothing is left unrooted." in page
    answer = type_in(made, rooted_3="1", again_3="y")
    assert "nothing is left to check" in error_of(answer.text, "rooted-3")
