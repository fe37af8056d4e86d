"""A day's sticking is prepared from typed lines, and its sheet is one page of paper."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect
from pypdfium2 import PdfDocument

from tests.conftest import PASSWORD
from tests.journeys.conftest import DESK, Opened

pytestmark = pytest.mark.browser
DIP = "IBA quick dip 1000 ppm"


@pytest.fixture
def page(told: Opened) -> Iterator[Page]:
    """The empty sheet, as the manager opens it from the plan."""
    told.site.troubles.clear()
    page = told.site.sign_in("Ada Marsh", PASSWORD, size=DESK)
    page.get_by_role("link", name="Plan", exact=True).click()
    page.get_by_role("link", name="What to have ready").click()
    yield page
    page.context.close()
    assert told.site.troubles == []


def test_five_batches_with_a_dip_print_on_one_page(page: Page) -> None:
    page.get_by_role("button", name="More lines").click()
    page.get_by_label("For", exact=True).fill("Thursday")
    for number in range(5):
        line = page.get_by_role("group", name=f"Batch {number + 1}", exact=True)
        line.get_by_label("Plant").fill("Hebe 'Great Orme'")
        line.get_by_label("Cuttings").fill(str(100 + number))
        line.get_by_label("Hormone").fill(DIP)
    page.get_by_label("Litres in a bag").fill("70")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Thursday: 510 cuttings")
    dip = page.get_by_role("group", name=DIP)
    dip.get_by_label("Made from").select_option("stock")
    dip.get_by_label("How much").fill("1 l")
    dip.get_by_label("Strength").fill("1 %")
    dip.get_by_label("solvent").fill("50")
    page.keyboard.press("Enter")
    expect(page.get_by_text("Take 100 ml of the stock")).to_be_visible()
    paper = PdfDocument(page.pdf(format="A4"))
    assert len(paper) == 1
    text = paper[0].get_textpage().get_text_range()
    assert "Take 100 ml of the stock" in text
    assert "Legionella" in text
    assert "Work it out" not in text
