"""The head reads a sheet with two wrong lines in; the manager takes sheets out."""

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from app.domain.people import Actor, Role
from app.store.session import Database
from tests.services.notebook_imports import SHEET, write

pytestmark = pytest.mark.browser

Enter = Callable[..., Page]
TWO_WRONG = """batch,plant,stuck_on,stuck,mix,bench,checked_on,rooted,lost,lost_cause,weather
A1,Prunus domestica,2026-05-01,110,Sand,Bench 3,2026-06-01,30,4,basal rot,dry
B1,Hebe 'Great Orme',2026-05-01,100,Perlite,Bench 9,,,,,
B1,,,,,,2026-06-01,30,4,grey mould,
B2,Rosa,2026-05-32,100,,,,,,,
B1,,,,,,2026-06-20,90,,,
"""


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    path = tmp_path / "notebook 2026.csv"
    path.write_text(TWO_WRONG, encoding="utf-8")
    return path


@pytest.fixture(autouse=True)
def _read_before(database: Database, head: Actor) -> None:
    write(database, SHEET, actor=head)


def read_in(page: Page, sheet: Path) -> None:
    page.goto("/records")
    page.get_by_role("link", name="Read a sheet in").click()
    page.get_by_label("Sheet").set_input_files(sheet)
    page.get_by_role("button", name="Read it and show what it would do").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("2 lines are wrong")


@pytest.mark.parametrize("javascript", [True, False])
def test_a_sheet_with_two_wrong_lines(
    enter: Enter, sheet: Path, database: Database, *, javascript: bool
) -> None:
    page = enter(Role.HEAD, javascript=javascript)
    read_in(page, sheet)
    expect(page.get_by_text("“2026-05-32” is no day with its year")).to_be_visible()
    expect(page.get_by_text("you cannot add 90 rooted")).to_be_visible()
    page.get_by_role("link", name="1 changed").click()
    expect(page.get_by_text("100 in the log becomes 110.")).to_be_visible()
    page.get_by_role("button", name="Leave the wrong lines out, write the others").click()
    expect(page.get_by_text("2 wrong lines left out").first).to_be_visible()
    page.get_by_role("link", name="Look at the batches").click()
    expect(page.get_by_text("Great Orme").first).to_be_visible()


def test_the_manager_takes_a_sheet_out(enter: Enter) -> None:
    page = enter(Role.MANAGER)
    page.goto("/records")
    with page.expect_download() as download:
        page.get_by_role("link", name="CSV of notebook").click()
    assert download.value.suggested_filename == "notebook 2026-11-25.csv"
    with page.expect_download() as download:
        page.get_by_role("link", name="XLSX of batches").click()
    assert download.value.suggested_filename == "batches 2026-11-25.xlsx"
