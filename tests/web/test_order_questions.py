"""The answer on the page of an order, and asked without one."""

from collections.abc import Callable
from html import unescape
from pathlib import Path
from shutil import copyfile

import pytest
from flask.testing import FlaskClient

from app.domain.people import Role
from app.store.models.history import HistoryLine
from app.store.session import Database

SignIn = Callable[[Role], FlaskClient]
ASK = "/plan/how-many?plant=Hebe+%27Great+Orme%27&plants=120&due_on=week+24"


@pytest.fixture
def browser(told_file: Path, database: Database, sign_in: SignIn) -> FlaskClient:
    copyfile(told_file, database.path)
    return sign_in(Role.MANAGER)


def stick_of(page: str) -> int:
    """Return the number in the answer's sentence."""
    return int(page.partition("Stick ")[2].partition(" cuttings")[0].replace(",", ""))


def test_the_order_page_answers_with_everything_beside_it(browser: FlaskClient) -> None:
    page = browser.get("/plan/orders/1").text
    assert "on or before" in page
    for words in (
        "The naive sum",
        "With the luck of single cuttings",
        "this plan",
        "Later is paid in cuttings",
        "In how many batches",
        "rests on 7 batches of your own",
        "common practice, no source",
        "Chance of enough by the number stuck",
        "stock plant",
    ):
        assert words in page, words
    assert '<svg class="strip"' in page


def test_turning_it_moves_the_answer_and_the_order_stays(browser: FlaskClient) -> None:
    as_ordered = stick_of(browser.get("/plan/orders/1").text)
    surer = browser.get("/plan/orders/1?sure=97").text
    one = browser.get("/plan/orders/1?batches=1").text
    assert stick_of(surer) > as_ordered
    assert stick_of(one) > as_ordered
    assert "not as it was ordered" in surer
    month = browser.get("/plan/orders/1?month=1").text
    assert "cuttings on Fri 15 Jan" in month
    day = browser.get("/plan/orders/1?month=1&stick_on=20+jan").text
    assert "cuttings on Wed 20 Jan" in day
    assert stick_of(browser.get("/plan/orders/1").text) == as_ordered


@pytest.mark.parametrize(
    ("turned", "field", "sentence"),
    [
        ("sure=110", "sure", "Give a number in %, from 50 to 99."),
        ("batches=none", "batches", "Give a number in batches, from 1 to 20."),
        ("stick_on=yesterday", "stick_on", "This day is gone"),
        ("stick_on=31/2", "stick_on", "no such day"),
        ("stick_on=1+aug+2027", "stick_on", "not before the day"),
        ("month=13", "month", "Choose one"),
        ("month=6", "month", "not before the day"),
        ("cutting_type=sideways", "cutting_type", "Choose one"),
        ("hormone=3000+ppm", "hormone", "Name the substance first"),
    ],
)
def test_what_cannot_be_tried_is_said_by_its_field(
    browser: FlaskClient, turned: str, field: str, sentence: str
) -> None:
    answer = browser.get(f"/plan/orders/1?{turned}")
    assert answer.status_code == 422
    error = answer.text.partition(f'id="{field}-error">')[2].partition("</p>")[0]
    assert sentence in error


def test_a_question_without_an_order_stores_nothing(
    browser: FlaskClient, database: Database
) -> None:
    with database.reading() as session:
        before = session.query(HistoryLine).count()
    page = browser.get(ASK).text
    assert stick_of(page) > 120
    assert "Make it an order" in page
    with database.reading() as session:
        assert session.query(HistoryLine).count() == before


def test_a_question_becomes_an_order(browser: FlaskClient) -> None:
    page = browser.get(ASK + "&sure=95").text
    address = page.partition('class="do second" href="')[2].partition('"')[0]
    form = browser.get(unescape(address)).text
    for value in ("Hebe 'Great Orme'", "120", "week 24", "95"):
        assert f'value="{value}"' in unescape(form)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("plant=Zelkova&plants=50&due_on=week+30", "leans on"),
        ("plant=Hebe+%27Never+Seen%27&plants=50&due_on=week+30", "none of it yet"),
        ("plant=Hebe&plants=50&due_on=week+50", "Too late"),
    ],
)
def test_little_is_known_or_there_is_no_time(browser: FlaskClient, asked: str, said: str) -> None:
    answer = browser.get(f"/plan/how-many?{asked}")
    assert answer.status_code == 200
    assert said in answer.text


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ("plants=50&due_on=week+30", "plant"),
        ("plant=Hebe&plants=0&due_on=week+30", "plants"),
        ("plant=Hebe&plants=50&due_on=today", "due_on"),
        ("plant=Hebe&plants=50&due_on=", "due_on"),
    ],
)
def test_what_is_wrong_with_a_question(browser: FlaskClient, asked: str, field: str) -> None:
    answer = browser.get(f"/plan/how-many?{asked}")
    assert answer.status_code == 422
    assert f'id="{field}-error"' in answer.text


def test_a_log_without_batches_says_run_a_test(sign_in: SignIn) -> None:
    page = sign_in(Role.TRAINEE).get("/plan/how-many?plant=Zelkova&plants=50&due_on=week+30").text
    assert "Not plannable" in page
    assert "Run a test batch" in page
    page = sign_in(Role.TRAINEE).get("/plan/how-many?plant=Lavandula&plants=50&due_on=week+30").text
    assert "no batch of yours yet, so it leans on" in page
    assert "published results" in page
