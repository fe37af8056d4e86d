"""The season's board: planned, looked over, put up, overruled by hand."""

import json
import re
from collections.abc import Callable
from html import unescape

import pytest
from flask.testing import FlaskClient
from sqlalchemy import select

from app.domain.people import Role
from app.domain.season_lines import SeasonLineKept
from app.store.models.history import HistoryLine
from app.store.queries.season_lines import find_last_plan, list_season_lines
from app.store.session import Database
from tests.journeys.told_log import tell_small_log
from tests.web.batch_pages import posted, problems_of

SignIn = Callable[[Role], FlaskClient]
_NAMES = "lines|fixed|room|gap|stopped_early|seen"
_HIDDEN = re.compile(rf'<input[^>]*name="({_NAMES})"[^>]*value="([^"]*)"')


@pytest.fixture
def browser(database: Database, sign_in: SignIn) -> FlaskClient:
    entered = sign_in(Role.MANAGER)
    tell_small_log(database)
    return entered


def on_board(database: Database) -> tuple[SeasonLineKept, ...]:
    with database.reading() as session:
        return list_season_lines(session)


def shown_plan(browser: FlaskClient, query: str = "") -> dict[str, str]:
    page = browser.get(f"/plan/season{query}").text
    return {name: unescape(value) for name, value in _HIDDEN.findall(page)}


def keep(browser: FlaskClient, typed: dict[str, str]) -> int:
    return browser.post("/plan/board/keep", data=posted(**typed)).status_code


def added(browser: FlaskClient, **typed: str) -> str:
    said = {"order": "1", "week": "week 5", "cuttings": "40", "version": "1"} | typed
    answer = browser.post("/plan/board/new", data=posted(**said))
    assert answer.status_code == 303, problems_of(answer.text)
    return answer.location


def test_an_empty_board_gives_the_first_step(sign_in: SignIn) -> None:
    page = sign_in(Role.MANAGER).get("/plan/board").text
    assert "Nothing stands on the board" in page
    assert "Add the first order" in page


def test_a_plan_is_put_on_the_board_beside_what_is_fixed(
    browser: FlaskClient, database: Database
) -> None:
    # The told log has one line set by hand: 60 cuttings for order 1.
    assert [(line.fixed, line.entry.cuttings) for line in on_board(database)] == [(True, 60)]
    page = browser.get("/plan/season?trays=50").text
    assert "1 line is fixed on the board and stays" in page
    typed = shown_plan(browser, "?trays=50")
    assert keep(browser, typed) == 303
    lines = on_board(database)
    assert sum(line.fixed for line in lines) == 1
    assert len(lines) > 1
    board = browser.get("/plan/board").text
    assert "The plan is on the board; what was fixed stayed." in board
    assert "hand, fixed" in board
    assert "the plan" in board
    assert "/plan/prepare?title=2027-W" in board
    assert "/plan/season?trays=50" in board
    with database.reading() as session:
        last = find_last_plan(session)
    assert last is not None
    assert (last.trays, last.labour) == (50, None)


def test_planning_again_replaces_what_is_not_fixed(
    browser: FlaskClient, database: Database
) -> None:
    keep(browser, shown_plan(browser))
    before = {line.id for line in on_board(database) if line.fixed}
    first = next(line for line in on_board(database) if not line.fixed)
    browser.post(f"/plan/board/{first.id}/fix", data=posted())
    keep(browser, shown_plan(browser))
    fixed = {line.id for line in on_board(database) if line.fixed}
    assert fixed == before | {first.id}
    # What is fixed counts: with it nothing more is planned than without.
    total = sum(line.entry.cuttings for line in on_board(database))
    browser.post(f"/plan/board/{first.id}/let-go", data=posted())
    keep(browser, shown_plan(browser))
    assert first.id not in {line.id for line in on_board(database) if line.fixed}
    assert abs(sum(line.entry.cuttings for line in on_board(database)) - total) <= total * 0.15


def test_the_second_to_plan_is_told(browser: FlaskClient, database: Database) -> None:
    mine, theirs = shown_plan(browser), shown_plan(browser)
    assert keep(browser, theirs) == 303
    answer = browser.post("/plan/board/keep", data=posted(**mine))
    assert answer.status_code == 422
    assert "Somebody else planned the season meanwhile" in answer.text


@pytest.mark.parametrize(
    "wrong",
    [
        {"lines": "[[1]]"},
        {"room": "{}"},
        {"gap": "x"},
        {"gap": "nan"},
        {"seen": "then"},
        {"fixed": "[1]"},
    ],
)
def test_a_page_that_is_not_complete_writes_nothing(
    browser: FlaskClient, database: Database, wrong: dict[str, str]
) -> None:
    before = on_board(database)
    answer = browser.post("/plan/board/keep", data=posted(**(shown_plan(browser) | wrong)))
    assert answer.status_code == 422
    assert "This page was not complete" in answer.text
    assert on_board(database) == before


def test_a_line_fixed_meanwhile_asks_for_another_plan(
    browser: FlaskClient, database: Database
) -> None:
    plan = shown_plan(browser)
    added(browser, cuttings="200")
    before = on_board(database)
    answer = browser.post("/plan/board/keep", data=posted(**plan))
    assert answer.status_code == 422
    assert "What is fixed on the board changed meanwhile" in answer.text
    assert on_board(database) == before
    assert keep(browser, shown_plan(browser)) == 303


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ([1, "2027-02-01", 0], "Give how many"),
        ([1, "2027-02-01", -5], "Give how many"),
        ([1, "2020-01-06", 50], "2020-W02 is over"),
    ],
)
def test_a_plan_that_cannot_be_carried_out_writes_nothing(
    browser: FlaskClient, database: Database, line: list[object], said: str
) -> None:
    before = on_board(database)
    plan = shown_plan(browser) | {"lines": json.dumps([line])}
    answer = browser.post("/plan/board/keep", data=posted(**plan))
    assert answer.status_code == 422
    assert "can no longer be carried out" in answer.text
    assert said in answer.text
    assert on_board(database) == before


def test_only_what_was_taken_off_by_hand_is_put_back(
    browser: FlaskClient, database: Database
) -> None:
    keep(browser, shown_plan(browser))
    planned = next(line for line in on_board(database) if not line.fixed)
    keep(browser, shown_plan(browser))
    address = f"/plan/board/{planned.id}/put-back"
    assert browser.post(address, data=posted()).status_code == 404
    browser.post("/plan/board/1/remove", data=posted())
    browser.post("/plan/orders/1/met", data=posted(version="1"))
    refused = browser.post("/plan/board/1/put-back", data=posted())
    assert refused.status_code == 422
    assert "Order 1 is not open any more." in refused.text


def test_a_line_is_added_changed_removed_and_put_back(
    browser: FlaskClient, database: Database
) -> None:
    added(browser, week="2027-W05", cuttings="2 trays of 20", note="from the frame")
    line = next(line for line in on_board(database) if line.entry.note == "from the frame")
    assert (line.week, line.entry.cuttings, line.fixed) == ("2027-W05", 40, True)
    typed = {"week": "2027-W06", "cuttings": "50", "note": "later", "version": str(line.version)}
    assert browser.post(f"/plan/board/{line.id}/edit", data=posted(**typed)).status_code == 303
    stale = browser.post(f"/plan/board/{line.id}/edit", data=posted(**typed | {"cuttings": "51"}))
    assert stale.status_code == 409
    assert browser.post(f"/plan/board/{line.id}/remove", data=posted()).status_code == 303
    assert line.id not in {one.id for one in on_board(database)}
    page = browser.get("/plan/board").text
    undo = unescape(re.search(r'action="(/plan/board/[0-9]+/put-back)"', page)[1])  # type: ignore[index]
    assert browser.post(undo, data=posted()).status_code == 303
    back = next(one for one in on_board(database) if one.entry.note == "later")
    assert (back.week, back.entry.cuttings) == ("2027-W06", 50)
    with database.reading() as session:
        told = session.scalars(
            select(HistoryLine.what).where(HistoryLine.subject == "order 1")
        ).all()
    assert {"put on the board", "changed on the board", "taken off the board"} <= set(told)
    assert browser.post(undo, data=posted()).status_code == 404


def test_an_old_pages_button_reaches_no_later_line(
    browser: FlaskClient, database: Database
) -> None:
    keep(browser, shown_plan(browser))
    old = [line.id for line in on_board(database) if not line.fixed]
    keep(browser, shown_plan(browser))
    kept = on_board(database)
    assert not set(old) & {line.id for line in kept}
    for action in ("remove", "fix", "let-go"):
        answer = browser.post(f"/plan/board/{old[0]}/{action}", data=posted())
        assert answer.status_code == 404
        assert "no longer on the board" in answer.text
    assert browser.get(f"/plan/board/{old[0]}/edit").status_code == 404
    assert on_board(database) == kept


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"order": ""}, "Choose an order that is open."),
        ({"order": "99"}, "Choose an order that is open."),
        ({"week": "2026-W40"}, "2026-W40 is over"),
        ({"week": "week 60"}, "week"),
        ({"cuttings": "0"}, "at least 1"),
        ({"cuttings": "some"}, "Give a number"),
    ],
)
def test_a_wrong_line_is_refused_beside_its_field(
    browser: FlaskClient, database: Database, typed: dict[str, str], sentence: str
) -> None:
    before = on_board(database)
    said = {"order": "1", "week": "week 5", "cuttings": "40", "version": "1"} | typed
    answer = browser.post("/plan/board/new", data=posted(**said))
    assert answer.status_code == 422
    assert sentence in " ".join(problems_of(answer.text))
    assert on_board(database) == before


def test_limits_that_are_not_kept_are_said_and_never_refused(browser: FlaskClient) -> None:
    keep(browser, shown_plan(browser, "?labour=30"))
    added(browser, week="2027-W05", cuttings="500")
    page = browser.get("/plan/board").text
    assert "2027-W05: 500 cuttings, where 30 can be stuck." in page
    assert "Not on the board yet" in page
    # Order 2 is due too soon for any number; without it nobody asks why there is none.
    assert "Why no number" in page
    browser.post("/plan/orders/2/met", data=posted(version="1"))
    assert "Why no number" not in browser.get("/plan/board").text


def test_only_who_keeps_orders_changes_it(browser: FlaskClient, sign_in: SignIn) -> None:
    trainee = sign_in(Role.TRAINEE)
    page = trainee.get("/plan/board").text
    assert "stand on the board" in page
    assert "Remove order" not in page
    assert "Put this plan on the board" not in trainee.get("/plan/season").text
    assert trainee.post("/plan/board/1/remove", data=posted()).status_code == 403


def test_the_order_says_what_is_no_longer_wanted(browser: FlaskClient) -> None:
    browser.post("/plan/orders/1/met", data=posted(version="1"))
    assert "order 1</a>, not open any more" in browser.get("/plan/board").text
