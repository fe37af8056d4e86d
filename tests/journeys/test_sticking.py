"""Sticking a batch in a real browser: what the script fills in and offers, and a refused form."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from app.domain.people import Role
from app.store.queries.batches import get_batch
from app.store.session import Database
from tests.web.batch_pages import set_up_nursery

pytestmark = pytest.mark.browser

Enter = Callable[..., Page]


@pytest.fixture(autouse=True)
def _nursery(database: Database) -> None:
    set_up_nursery(database)


def test_blanks_are_filled_from_the_card_and_typed_text_is_left(
    enter: Enter, database: Database
) -> None:
    page = enter(Role.TRAINEE)
    page.goto("/batches/new")
    expect(page.get_by_label("Plant name")).to_be_focused()
    page.locator("summary").click()
    page.get_by_label("Cover").fill("fog")
    page.get_by_label("Plant name").fill("Hebe 'Great Orme'")
    page.get_by_label("Cutting type").select_option("semi-ripe")
    expect(page.get_by_label("Bottom heat")).to_have_value("16.5")
    expect(page.get_by_label("Cover")).to_have_value("fog")
    expect(page.locator("summary")).to_contain_text("The method card for Hebe, semi-ripe")
    expect(page.locator("#length_cm-hint")).to_contain_text("10 to 15 cm")
    expect(page.get_by_text("Hebe: no caution recorded.")).to_be_visible()
    page.get_by_label("Cutting type").select_option("softwood")
    expect(page.get_by_label("Bottom heat")).to_have_value("")
    expect(page.locator("#length_cm-hint")).to_contain_text("5 to 10 cm")
    page.get_by_label("Cutting type").select_option("semi-ripe")
    expect(page.get_by_label("Bottom heat")).to_have_value("16.5")
    page.get_by_label("Number stuck").fill("96")
    page.get_by_label("Number stuck").press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("26-0001")
    with database.reading() as session:
        batch = get_batch(session, code="26-0001")
    assert batch.entry.taken_over == ("bottom_heat_c",)
    assert batch.entry.method_card_version_id is not None
    assert batch.entry.cover == "fog"


def test_what_belongs_to_the_type_comes_into_sight(enter: Enter) -> None:
    page = enter(Role.TRAINEE)
    page.goto("/batches/new")
    page.locator("summary").click()
    way_up = page.get_by_label("Which way up")
    rootstock = page.get_by_label("Rootstock", exact=True)
    expect(way_up).to_be_hidden()
    expect(rootstock).to_be_hidden()
    page.get_by_label("Cutting type").select_option("root")
    expect(way_up).to_be_visible()
    expect(rootstock).to_be_hidden()
    way_up.select_option("slanting")
    page.get_by_label("Cutting type").select_option("graft")
    expect(rootstock).to_be_visible()
    # What holds something stays in sight, to be taken out by hand and not unseen.
    expect(way_up).to_be_visible()


def test_plants_are_offered_while_one_is_typed(enter: Enter) -> None:
    page = enter(Role.TRAINEE)
    page.goto("/batches/new")
    page.get_by_label("Plant name").press_sequentially("orme")
    page.locator("datalist option[value='S-0031']").wait_for(state="attached")
    offered = page.locator("datalist").evaluate_all(
        "lists => lists.flatMap(list => [...list.options].map(option => option.value))"
    )
    assert "Hebe 'Great Orme'" in offered


def test_a_refused_form_keeps_everything_and_opens_what_is_wrong(enter: Enter) -> None:
    page = enter(Role.TRAINEE)
    page.goto("/batches/new")
    page.get_by_label("Plant name").fill("Hebe 'Great Orme'")
    page.get_by_label("Number stuck").fill("96")
    page.locator("summary").click()
    page.get_by_label("Number taken").fill("50")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(".summary")).to_be_focused()
    page.get_by_role("link", name="50 taken leave 50 to stick").click()
    expect(page.get_by_label("Number taken")).to_be_focused()
    assert page.get_by_label("Number stuck").input_value() == "96"
