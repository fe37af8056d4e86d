"""The page of what is in season."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from flask.testing import FlaskClient
from sqlalchemy import select

from app.domain.nursery import Hemisphere, NurseryEntry
from app.domain.people import Actor, Role
from app.services.nursery import correct_nursery
from app.store.models.batches import Batch
from app.store.models.orders import OrderBatch
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant
from app.store.queries.nursery import get_nursery
from app.store.session import Database
from tests.conftest import NOW
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


def test_a_keep_out_time_is_said_and_its_plants_are_not_offered(
    browser: FlaskClient, database: Database
) -> None:
    # The told log has a treatment whose keep-out time still runs where the Hebe stands.
    page = browser.get("/plan/in-season?month=9").text
    assert "12: keep out before 19:00 on Wed 25 November 2026" in page
    assert "0 stock plants may be cut." in page
    with database.writing() as session:
        for row in session.scalars(select(StockPlant)):
            row.reentry_at = NOW - timedelta(minutes=1)
    page = browser.get("/plan/in-season?month=9").text
    assert "keep out before" not in page
    assert "12 stock plants may be cut" in page


def test_what_is_stuck_for_an_order_stands_beside_it(
    browser: FlaskClient, database: Database
) -> None:
    page = browser.get("/plan/in-season?month=9").text
    assert "stuck for it so far" not in page
    assert 'href="/batches/new?order=1"' in page
    with database.writing() as session:
        hebe = session.scalars(
            select(Batch).join(PlantNameRow).where(PlantNameRow.plain == "Hebe 'Great Orme'")
        ).all()
        void = next(row for row in hebe if row.voided_at is not None)
        kept = [row for row in hebe if row.voided_at is None][:2]
        session.add_all(OrderBatch(batch_id=row.id, order_id=1) for row in (*kept, void))
        whole = sum(row.stuck for row in kept)
    assert f", {whole} stuck for it so far" in browser.get("/plan/in-season?month=9").text


def test_the_southern_half_turns_the_page(
    browser: FlaskClient, database: Database, head: Actor
) -> None:
    north = browser.get("/plan/in-season?month=9").text
    with database.writing() as session:
        version = get_nursery(session).version
        entry = NurseryEntry(name="", zone="UTC", hemisphere=Hemisphere.SOUTH, medium_word="medium")
        correct_nursery(session, actor=head, now=NOW, version=version, entry=entry)
    south = browser.get("/plan/in-season?month=3").text
    hebe = "Hebe</i>, semi-ripe"
    assert hebe in north.replace("</span>", "")
    assert hebe in south.replace("</span>", "")
    assert hebe not in browser.get("/plan/in-season?month=9").text.replace("</span>", "")


@pytest.mark.parametrize("role", list(Role))
def test_everybody_may_read_it_and_only_who_sticks_is_led_there(
    sign_in: SignIn, database: Database, role: Role
) -> None:
    browser = sign_in(role)
    tell_small_log(database)
    page = browser.get("/plan/in-season?month=9").text
    assert "Wanted:" in page
    assert ("/batches/new?order=1" in page) is (role is not Role.MANAGER)
