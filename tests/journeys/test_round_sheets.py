"""A round on paper: printed on A4 with its head on every page, typed in by the keyboard alone."""

import io
from collections.abc import Callable

import pypdfium2
import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from app.domain.people import Actor, Role
from app.services.round_sheets import print_round_sheet
from app.store.models.checks import Check
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_bench, add_plant
from tests.services.check_records import stick

pytestmark = pytest.mark.browser
Enter = Callable[..., Page]
A4 = (595.3, 841.9)
"""Points; ISO 216: 210 mm by 297 mm."""


def tell(database: Database, head: Actor, *, batches: int) -> None:
    with database.writing() as session:
        plant = add_plant(session)
        benches = [add_bench(session, f"Bench {place}", place) for place in (1, 2)]
        for place in range(batches):
            stick(session, head, plant=plant, bench_id=benches[place % 2])


def test_the_printed_sheet(enter: Enter, database: Database, head: Actor) -> None:
    tell(database, head, batches=60)
    page = enter(Role.TRAINEE)
    _make_sheet(page)
    page.emulate_media(media="print")
    paper = pypdfium2.PdfDocument(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    texts = []
    for sheet in paper:
        assert sheet.get_size() == pytest.approx(A4, abs=1)
        texts.append(sheet.get_textpage().get_text_range())
    assert len(texts) in {2, 3, 4}
    for text in texts:
        assert "Round sheet 1" in text
        assert "New rooted" in text
        assert "basal rot" in text
    whole = "\n".join(texts)
    order = [f"26-{number:04d}" for number in (*range(1, 61, 2), *range(2, 61, 2))]
    places = [whole.index(code) for code in order]
    assert places == sorted(places)
    assert "Type it in" not in whole
    assert "Menu" not in whole


def _make_sheet(page: Page) -> None:
    page.goto("/round-sheets/new")
    # Where one begins is the first field; a Tab before that would go to another place.
    expect(page.locator("main select, main input:not([type=hidden])").first).to_be_focused()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**/round-sheets/1")


def test_typed_in_by_the_keyboard_alone(enter: Enter, database: Database, head: Actor) -> None:
    tell(database, head, batches=4)
    page = enter(Role.TRAINEE)
    _make_sheet(page)
    page.goto("/round-sheets/1/entry")
    _type_four_lines(page)
    expect(page.locator(".summary")).to_be_focused()
    assert page.title().startswith("Error: ")
    expect(page.get_by_text("2 lines are stored.")).to_be_visible()
    expect(page.locator("[name='rooted-2']")).to_have_value("120")
    expect(page.get_by_text("12 newly rooted, 3 lost (grey mould 3)")).to_be_visible()
    _put_the_second_right(page)
    expect(page.get_by_text("1 line is stored. 1 left blank.")).to_be_visible()
    expect(page.locator("[name='rooted-3']")).to_be_focused()
    with database.reading() as session:
        found = session.execute(select(Check.rooted, Check.lost, Check.kind).order_by(Check.id))
        assert [tuple(row) for row in found] == [
            (12, 3, "counted"),
            (0, 0, "looked only"),
            (20, 0, "counted"),
        ]


def _type_four_lines(page: Page) -> None:
    """Line 1: 12 rooted, 3 lost to cause 2. Line 2 wrong. Line 3 blank. Line 4 looked at."""
    keys = page.keyboard
    expect(page.locator("[name='rooted-1']")).to_be_focused()
    for text in ("12", "3", "2"):
        keys.type(text)
        keys.press("Enter" if text == "2" else "Tab")
    expect(page.locator("[name='rooted-2']")).to_be_focused()
    keys.type("120")
    keys.press("Enter")
    keys.press("Enter")
    expect(page.locator("[name='rooted-4']")).to_be_focused()
    keys.press("ArrowUp")
    expect(page.locator("[name='rooted-3']")).to_be_focused()
    keys.press("ArrowDown")
    for _ in range(3):
        keys.press("Tab")
    keys.press("Space")
    _save_from_the_last_line(page)


def _put_the_second_right(page: Page) -> None:
    """From the summary to the field; the line that was left blank stays open."""
    keys = page.keyboard
    keys.press("Tab")
    keys.press("Enter")
    expect(page.locator("[name='rooted-2']")).to_be_focused()
    keys.press("Control+A")
    keys.type("20")
    keys.press("Enter")
    expect(page.locator("[name='rooted-3']")).to_be_focused()
    _save_from_the_last_line(page)


def _save_from_the_last_line(page: Page) -> None:
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Save the lines")).to_be_focused()
    page.keyboard.press("Enter")


def test_without_a_script_enter_saves(enter: Enter, database: Database, head: Actor) -> None:
    tell(database, head, batches=2)
    page = enter(Role.TRAINEE, javascript=False)
    with database.writing() as session:
        print_round_sheet(session, actor=head, today=TODAY, now=NOW)
    page.goto("/round-sheets/1/entry")
    page.locator("[name='rooted-1']").fill("4")
    page.keyboard.press("Enter")
    expect(page.get_by_text("1 line is stored. 1 left blank.")).to_be_visible()
