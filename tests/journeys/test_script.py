"""What the script adds to pages: typed text that survives, remembered contrast."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from app.domain.people import Role
from app.services.starting_data import load_starting_data
from app.store.session import Database
from tests.conftest import NOW

pytestmark = pytest.mark.browser

Enter = Callable[..., Page]
NARROW = {"width": 320, "height": 640}


@pytest.fixture(autouse=True)
def _filled(database: Database) -> None:
    with database.writing() as session:
        load_starting_data(session, now=NOW)


def status(page: Page) -> Any:
    return page.locator("#saved")


def _lose_the_answer(route: Route) -> None:
    route.fetch(max_redirects=0)
    route.abort()


def test_typed_text_survives_a_reload_until_it_is_saved(enter: Enter) -> None:
    page = enter(Role.HEAD)
    page.goto("/mixes/new")
    expect(status(page)).to_have_text("All entries saved.")
    page.get_by_label("Name").fill("Tray mix")
    page.get_by_label("Ingredients").fill("bark 2\nsand 1")
    expect(status(page)).to_have_text("Not saved yet.")
    page.reload()
    expect(page.get_by_label("Name")).to_have_value("Tray mix")
    expect(page.get_by_label("Ingredients")).to_have_value("bark 2\nsand 1")
    expect(status(page)).to_have_text("Not saved yet.")
    expect(page.get_by_text("What you typed here before is back.")).to_be_in_viewport()
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("The mix Tray mix is saved.")).to_be_visible()
    expect(status(page)).to_have_text("All entries saved.")
    page.goto("/mixes/new")
    expect(page.get_by_label("Name")).to_have_value("")


def test_typed_text_can_be_let_go(enter: Enter) -> None:
    page = enter(Role.HEAD)
    page.goto("/mixes/new")
    page.get_by_label("Name").fill("Tray mix")
    page.reload()
    page.get_by_role("button", name="Start afresh").click()
    expect(page.get_by_label("Name")).to_have_value("")
    expect(status(page)).to_have_text("All entries saved.")


def test_a_form_whose_answer_was_lost_is_stored_once(enter: Enter) -> None:
    page = enter(Role.HEAD)
    page.goto("/mixes/new")
    page.get_by_label("Name").fill("Tray mix")
    page.get_by_label("Ingredients").fill("bark 2")
    cookies = page.context.cookies()
    page.route("**/mixes/new", _lose_the_answer)
    with page.expect_event("requestfailed"):
        page.get_by_role("button", name="Save").click()
    page.unroute("**/mixes/new")
    # The answer's cookie, which says that it was saved, is lost with it.
    page.context.add_cookies(cookies)  # type: ignore[arg-type]
    page.goto("/mixes/new")
    expect(page.get_by_label("Name")).to_have_value("Tray mix")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("The mix Tray mix is saved.")).to_be_visible()
    page.goto("/mixes")
    expect(page.get_by_role("link", name="Tray mix")).to_have_count(1)


def test_an_edit_taken_up_again_still_meets_what_others_saved(enter: Enter) -> None:
    page, other = enter(Role.HEAD), enter(Role.HEAD)
    page.goto("/mixes/1/edit")
    page.get_by_label("Ingredients").fill("bark 2")
    other.goto("/mixes/1/edit")
    other.get_by_label("Ingredients").fill("sand 2")
    other.get_by_role("button", name="Save").click()
    page.reload()
    expect(page.get_by_label("Ingredients")).to_have_value("bark 2")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", name="Somebody else changed this")).to_be_visible()


def test_errors_take_the_focus_and_lead_to_their_field(enter: Enter) -> None:
    page = enter(Role.HEAD)
    page.goto("/mixes/new")
    page.get_by_label("Name").fill("Tray mix")
    page.get_by_role("button", name="Save").click()
    expect(page.locator(".summary")).to_be_focused()
    page.get_by_role("link", name="Say what it is made of").click()
    expect(page.get_by_label("Ingredients")).to_be_focused()
    expect(page.get_by_label("Name")).to_have_value("Tray mix")


def test_contrast_for_sunlight_is_remembered(enter: Enter) -> None:
    page = enter(Role.TRAINEE)
    page.goto("/mixes")
    button = page.get_by_role("button", name="High contrast and larger text, for sunlight")
    button.click()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    page.goto("/method-cards")
    expect(button).to_have_attribute("aria-pressed", "true")
    button.click()
    page.reload()
    expect(button).to_have_attribute("aria-pressed", "false")


@pytest.mark.parametrize("javascript", [True, False])
def test_the_menu_opens_on_a_phone_without_any_script(enter: Enter, javascript: bool) -> None:
    page = enter(Role.TRAINEE, size=NARROW, javascript=javascript)
    page.goto("/mixes")
    expect(page.get_by_role("link", name="Method cards")).not_to_be_visible()
    page.get_by_role("link", name="Menu", exact=True).click()
    page.get_by_role("link", name="Method cards").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Method cards")
