"""The page of what is in season."""

import re
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from app.domain.people import Role
from app.store.session import Database
from tests.journeys.told_log import tell_small_log

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture
def browser(database: Database, sign_in: SignIn) -> FlaskClient:
    entered = sign_in(Role.TRAINEE)
    tell_small_log(database)
    return entered


def test_what_is_ordered_and_kept_is_shown_with_its_rate(browser: FlaskClient) -> None:
    # The start cards have Hebe, semi-ripe, in late summer (common practice, no source).
    page = browser.get("/plan/in-season?month=9").text
    assert "in season in September" in page
    assert "Wanted:" in page
    assert 'href="/plan/orders/1"' in page
    assert 'href="/stock-plants/S-0001"' in page
    assert "stock plants may be cut" in page or "stock plant may be cut" in page
    assert "Stuck in this month here:" in page
    assert "common practice, no source" in page


def test_a_month_with_batches_says_what_struck_with_its_range(browser: FlaskClient) -> None:
    pages = [browser.get(f"/plan/in-season?month={month}").text for month in range(1, 13)]
    # A figure never stands without its range and its batches.
    assert any(
        re.search(r"Stuck in this month here: \d+ % \(\d+ to \d+ %\), \d+ batch", page)
        for page in pages
    )
    assert any("no batches yet" in page for page in pages)


def test_this_month_unless_another_is_asked_for(browser: FlaskClient) -> None:
    for address in ("/plan/in-season", "/plan/in-season?month=13", "/plan/in-season?month=x"):
        page = browser.get(address).text
        assert "in season now" in page
        assert '<option value="11" selected>' in page


def test_an_empty_log_is_honest(sign_in: SignIn) -> None:
    page = sign_in(Role.MANAGER).get("/plan/in-season?month=12").text
    assert "Nothing that is ordered or kept here is in season" in page
