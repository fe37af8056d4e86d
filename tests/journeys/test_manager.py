"""The manager at a PC: asks for strike rates, opens the batches behind one, takes sheets out."""

import csv
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from python_calamine import CalamineWorkbook

from tests.conftest import PASSWORD
from tests.journeys.conftest import DESK, Opened
from tests.journeys.told_log import STORY

pytestmark = pytest.mark.browser

Square = tuple[str, str]
MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July", "August", "September"),
    *("October", "November", "December"),
)
OUTCOMES = ("rooted", "lost", "dumped", "cleared_unrooted", "unrooted")
# Each square of the table by its row and the head of its column.
READ_SQUARES = """table => {
    const heads = [...table.tHead.rows[0].cells].map(cell => cell.textContent.trim());
    return [...table.tBodies[0].rows].flatMap(row => [...row.cells]
        .map((cell, place) => [row.cells[0].textContent.trim(), heads[place], cell.innerText])
        .filter(([, head, text]) => !["genus", "batches", "stuck"].includes(head)));
}"""


@pytest.fixture
def page(told: Opened) -> Iterator[Page]:
    """Strike rates by genus and month, as the manager asks for them."""
    told.site.troubles.clear()
    page = told.site.sign_in("Ada Marsh", PASSWORD, size=DESK)
    page.get_by_role("link", name="Strike rates").click()
    page.get_by_label("by", exact=True).select_option("genus")
    page.get_by_label("and", exact=True).select_option("month")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_role("columnheader", name="October")).to_be_visible()
    yield page
    page.context.close()
    assert told.site.troubles == []


def squares_of(page: Page) -> dict[Square, str]:
    """Return the words of every square that holds data, by genus and month."""
    read = page.locator("table.squares").first.evaluate(READ_SQUARES)
    return {
        (genus, month): " ".join(text.split()) for genus, month, text in read if text != "no data"
    }


def whole_percent(share: str) -> str:
    return f"{round(float(share) * 100)}"


def assert_says_the_same(text: str, line: dict[str, str]) -> None:
    """Hold what the page says in a square against its line in the sheet."""
    assert re.search(rf"\b{line['batches']} batch(es)?, {line['stuck']} stuck\b", text), text
    for outcome in OUTCOMES:
        said = re.search(rf"\b([\d,]+|none) {outcome.replace('_', ' ')}\b", text)
        assert (said[1] if said else "none").replace("none", "0") == line[outcome], (text, outcome)
    low, high = (whole_percent(line[f"estimate_{side}_share"]) for side in ("low", "high"))
    if line["estimate_share"]:
        rate = f"{whole_percent(line['estimate_share'])} % ({low} to {high} %)"
    else:
        rate = f"at worst {low} %, at best {high} %"
    assert text.removeprefix("few: ").startswith(rate), (text, rate)


def download(page: Page, kind: str, folder: Path) -> Path:
    with page.expect_download() as begun:
        page.get_by_role("link", name=kind, exact=True).click()
    name = f"strike-rates-by-genus-and-month.{kind.lower()}"
    assert begun.value.suggested_filename == name
    begun.value.save_as(folder / name)
    return folder / name


def test_the_sheets_hold_what_the_page_shows(page: Page, tmp_path: Path) -> None:
    shown = squares_of(page)
    with download(page, "CSV", tmp_path).open(encoding="utf-8-sig", newline="") as file:
        lines = list(csv.DictReader(file))
    assert len(lines) > 10
    told = {(line["genus"], MONTHS[int(line["month"]) - 1]): line for line in lines}
    assert shown.keys() == told.keys()
    for square, line in told.items():
        assert_says_the_same(shown[square], line)
    book = CalamineWorkbook.from_path(download(page, "XLSX", tmp_path))
    head, *rows = book.get_sheet_by_index(0).to_python()
    assert head == list(lines[0])
    assert len(rows) == len(lines)
    for row, line in zip(rows, lines, strict=True):
        for cell, text in zip(row, line.values(), strict=True):
            same = cell == text if isinstance(cell, str) else float(text) == pytest.approx(cell)
            assert same, (line["genus"], cell, text)


def test_a_square_opens_exactly_its_batches(page: Page) -> None:
    text = squares_of(page)["Cistus", "October"]
    assert "2 batches, 252 stuck" in text
    row = page.get_by_role("row").filter(has=page.get_by_role("rowheader", name="Cistus"))
    row.locator("td[data-head='October'] a").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Batches behind this strike rate")
    rows = page.get_by_role("row").filter(has=page.locator("td .label"))
    stuck = rows.locator("[data-head='stuck']").all_inner_texts()
    assert sorted(map(int, stuck)) == [60, 192]
    for day in rows.locator("[data-head='stuck on']").all_inner_texts():
        assert "Oct" in day
    page.locator("tbody .label").first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Cistus × purpureus")


def test_the_manager_reads_and_changes_nothing(page: Page) -> None:
    page.goto(f"/batches/{STORY}")
    expect(
        page.get_by_role("link", name=re.compile("Correct|Stick|Check this|Move"))
    ).to_have_count(0)
    for address in (
        "/batches/new",
        f"/batches/{STORY}/edit",
        f"/batches/{STORY}/checks/new",
        "/checks/1/correct",
        "/records/import",
        "/mixes/new",
        "/people/new",
    ):
        answer = page.goto(address)
        assert answer is not None
        assert answer.status == 403
        expect(page.get_by_text("Ask the head propagator")).to_be_visible()


def test_the_manager_takes_the_log_out(page: Page) -> None:
    page.get_by_role("link", name="Records").click()
    with page.expect_download() as begun:
        page.get_by_role("link", name="CSV of notebook").click()
    assert begun.value.suggested_filename == "notebook 2026-11-25.csv"
    with page.expect_download() as begun:
        page.get_by_role("link", name="XLSX of batches").click()
    assert begun.value.suggested_filename == "batches 2026-11-25.xlsx"
