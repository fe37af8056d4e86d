"""Checks in a real browser: a count by number and Enter alone, the sums while it is typed."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from app.domain.people import Actor, Role
from app.store.session import Database
from tests.journeys.conftest import PHONE
from tests.services.batch_records import add_bench, add_plant
from tests.services.check_records import check, lost, said, stick

pytestmark = pytest.mark.browser

Enter = Callable[..., Page]
ADDRESS = "/batches/26-0001/checks/new"


@pytest.fixture(autouse=True)
def _batch(database: Database, head: Actor) -> None:
    """Batch 26-0001 of 96: 38 rooted and 11 lost 8 days ago."""
    with database.writing() as session:
        first = stick(session, head, plant=add_plant(session), bench_id=add_bench(session))
        check(session, head, first, said(8, 38, lost=lost(11)))


@pytest.mark.parametrize("javascript", [True, False])
def test_a_number_and_enter_save_a_check(enter: Enter, javascript: bool) -> None:
    page = enter(Role.TRAINEE, size=PHONE, javascript=javascript)
    page.goto(ADDRESS)
    expect(page.get_by_label("Rooted", exact=True)).to_be_focused()
    page.keyboard.type("12")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status").first).to_contain_text("12 newly rooted")


def test_a_reason_and_enter_save_a_correction(enter: Enter) -> None:
    page = enter(Role.HEAD)
    page.goto("/checks/1/correct")
    page.get_by_label("Rooted", exact=True).fill("37")
    page.get_by_label("Why it is corrected").fill("counted again")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status").first).to_contain_text("37")


def test_the_sums_follow_what_is_typed(enter: Enter) -> None:
    page = enter(Role.TRAINEE)
    page.goto(ADDRESS)
    page.get_by_label("Rooted", exact=True).fill("40")
    page.get_by_label("all rooted so far").check()
    sums = page.locator("[data-sums-line]")
    expect(sums).to_have_text("2 newly rooted, 40 so far. Leaves 45 unrooted.")
