"""A sheet of labels is chosen, made and read back; a label printed ahead begins a batch."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.conftest import PASSWORD
from tests.formats.label_pages import pictures, scanned
from tests.journeys import told_log
from tests.journeys.conftest import PHONE, Opened

pytestmark = pytest.mark.browser


@pytest.fixture
def page(told: Opened) -> Iterator[Page]:
    told.site.troubles.clear()
    page = told.site.sign_in("Ines Farrow", PASSWORD, size=PHONE)
    yield page
    page.context.close()
    assert told.site.troubles == []


def test_a_sheet_is_printed_and_every_code_on_it_read(page: Page, tmp_path: Path) -> None:
    page.goto(f"/batches/{told_log.UNSEEN}")
    page.get_by_role("link", name="Labels for its trays").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("2 labels on 1 page")
    page.get_by_label("Labels for", exact=True).fill(f"{told_log.STORY} to 26-0007")
    page.get_by_label("Sheet or roll, mm").select_option("A4, 65 of 38.1 x 21.2")
    page.get_by_label("First free place").fill("60")
    with page.expect_download() as coming:
        page.get_by_role("button", name="Make the file to print").click()
    expect(page.get_by_text("comes by itself")).to_be_visible()
    file = tmp_path / "labels.pdf"
    coming.value.save_as(file)
    sheets = pictures(file.read_bytes(), dpi=150)
    read = [code.text for sheet in sheets for code in scanned(sheet, dpi=150)]
    assert len(sheets) == 2
    # The void one gets no label; the one in two trays gets two.
    assert len(read) == 7
    assert {text.rpartition("/to/")[2] for text in read} == {
        told_log.STORY, told_log.UNSEEN, told_log.FINISHED, told_log.CLEARED,
        told_log.LINED_OUT, told_log.RESTUCK,
    }  # fmt: skip


def test_a_label_printed_ahead_begins_a_batch_and_finds_it(page: Page) -> None:
    page.goto("/to/N-0005")
    expect(page.get_by_label("Label printed ahead")).to_have_value("N-0005")
    page.get_by_label("Plant name").fill("Hebe 'Great Orme'")
    page.get_by_label("Number stuck").fill("84")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Hebe")
    begun = page.url
    page.goto("/search?q=n5")
    assert page.url == begun
    expect(page.get_by_text("Label printed ahead:")).to_contain_text("N-0005")
