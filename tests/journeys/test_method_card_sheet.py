"""A method card with its cautions is one page of paper, from the shortest to the fullest."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect
from pypdfium2 import PdfDocument

from app.domain.card_steps import MOST_STEPS, MOST_TROUBLES
from app.domain.method_cards import MOST_LETTERS
from tests.conftest import PASSWORD
from tests.journeys.conftest import DESK, Opened

pytestmark = pytest.mark.browser
WORDS = "Cut just below a node with a clean blade and strip the lower third of its leaves off. "
LINES = {
    "step": WORDS,
    "reason": WORDS[:60],
    "what": "Rot of the base",
    "signs": WORDS,
    "do": WORDS[:70],
}
FILL = """texts => {
  for (const field of document.querySelectorAll("[name^=steps-], [name^=troubles-]")) {
    field.value = texts[field.name.split("-")[2]];
  }
}"""


@pytest.fixture
def page(told: Opened) -> Iterator[Page]:
    """The list of cards, as the head opens it."""
    told.site.troubles.clear()
    page = told.site.sign_in("Ines Farrow", PASSWORD, size=DESK)
    page.get_by_role("link", name="Method cards", exact=True).click()
    yield page
    page.context.close()
    assert told.site.troubles == []


def paper_of(page: Page) -> str:
    """Print the page in sight; return the text of its one sheet."""
    expect(page.get_by_text("The card with what was found here")).to_be_visible()
    page.wait_for_load_state("networkidle")
    paper = PdfDocument(page.pdf(format="A4"))
    assert len(paper) == 1
    return paper[0].get_textpage().get_text_range().replace("\r\n", " ")


@pytest.mark.parametrize("plant", ["Forsythia", "Juniperus", "Euphorbia pulcherrima"])
def test_a_starting_card_prints_on_one_page(page: Page, plant: str) -> None:
    page.get_by_role("link", name=plant).first.click()
    page.get_by_role("link", name="One page to print").click()
    text = paper_of(page)
    assert "Step by step" in text
    assert "What usually goes wrong" in text
    assert "local rules and licensed practice" in text
    assert "Legionella" in text
    assert "Sign out" not in text


def test_the_fullest_card_prints_on_one_page_and_a_fuller_one_is_refused(page: Page) -> None:
    page.get_by_role("link", name="Add a card").click()
    page.get_by_label("Genus").fill("Taxus")
    page.get_by_label("softwood", exact=True).check()
    for label in ("From what", "Light", "Aftercare", "Checks", "Cover", "Mix", "Container"):
        page.get_by_label(label, exact=True).fill(WORDS[:80])
    for label in ("Months", "Weeks to root"):
        page.get_by_label(label, exact=True).fill("2-4")
    while page.get_by_role("group", name=f"Step {MOST_STEPS}", exact=True).count() == 0:
        page.evaluate(FILL, LINES)
        page.get_by_role("button", name="More lines").click()
    assert page.get_by_role("group", name="Trouble ").count() == MOST_TROUBLES
    page.evaluate(FILL, LINES)
    page.get_by_label("Notes").fill(WORDS * 60)
    page.get_by_role("button", name="Save").last.click()
    refusal = page.get_by_role("link", name="letters, and one page holds")
    expect(refusal).to_be_visible()
    letters = int(refusal.inner_text().split()[3].replace(",", ""))
    notes = page.get_by_label("Notes").input_value()
    page.get_by_label("Notes").fill(notes[: len(notes.strip()) - (letters - MOST_LETTERS)])
    page.get_by_role("button", name="Save").last.click()
    page.get_by_role("link", name="One page to print").click()
    assert "VERY poisonous" in paper_of(page)
