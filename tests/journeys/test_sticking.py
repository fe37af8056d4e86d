"""Sticking batches in a real browser: what the script fills in, a run of ten, pages that fit.

Rules of the checker: axe-core, WCAG 2.2 level A and AA. Reflow: WCAG 2.2, success criterion 1.4.10
asks for 320 px without scrolling sideways. Controls are held to 48 px.
"""

from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from app.domain.people import Actor, Role
from app.services.batches import stick_batch
from app.services.plant_names import keep_plant_name, resolve_plant
from app.store.queries.batches import get_batch
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.journeys.conftest import PHONE
from tests.services.batch_records import days_ago, entry
from tests.web.batch_pages import set_up_nursery

pytestmark = pytest.mark.browser

Enter = Callable[..., Page]
NARROW = {"width": 320, "height": 640}
PAGES = (
    "/batches",
    "/batches/new",
    "/batches/new?like=26-0001",
    "/batches/26-0001",
    "/batches/26-0001/edit",
    "/batches/26-0001/move",
    "/batches/26-0001/void",
    "/search?q=hebe",
)


@pytest.fixture(autouse=True)
def _nursery(database: Database) -> None:
    set_up_nursery(database)


@pytest.fixture
def old_batch(database: Database, head: Actor) -> None:
    """A batch that is late, with a name that needs its italics."""
    with database.writing() as session:
        name = resolve_plant(session, typed="Cistus × purpureus").name
        plant = keep_plant_name(session, actor=head, now=NOW, name=name)
        said = entry(plant, stuck_on=days_ago(41), bench_id=1, own_reference="hebe 3")
        stick_batch(session, actor=head, today=TODAY, now=NOW, entry=said)


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


def test_plants_are_offered_while_one_is_typed(enter: Enter) -> None:
    page = enter(Role.TRAINEE)
    page.goto("/batches/new")
    page.get_by_label("Plant name").press_sequentially("orme")
    page.locator("datalist option[value='S-0031']").wait_for(state="attached")
    offered = page.locator("datalist").evaluate_all(
        "lists => lists.flatMap(list => [...list.options].map(option => option.value))"
    )
    assert "Hebe 'Great Orme'" in offered


@pytest.mark.parametrize("javascript", [True, False])
def test_ten_like_one_another_by_number_and_enter(
    enter: Enter, database: Database, javascript: bool
) -> None:
    page = enter(Role.TRAINEE, size=PHONE, javascript=javascript)
    page.goto("/batches/new")
    page.get_by_label("Plant name").fill("Hebe 'Great Orme'")
    page.get_by_label("Number stuck").fill("101")
    page.get_by_label("Cutting type").select_option("semi-ripe")
    page.get_by_label("Hormone", exact=True).fill("IBA talc 1000 ppm")
    page.get_by_label("Bench").select_option("Mist bench 2")
    page.get_by_role("button", name="Save and stick another like this").click()
    for number in range(102, 111):
        # The focus stands in the number already: a number and Enter are a whole batch.
        expect(page.get_by_label("Number stuck")).to_be_focused()
        page.keyboard.type(str(number))
        page.keyboard.press("Enter")
        expect(page.get_by_role("status").first).to_contain_text(f"26-{number - 100:04d} is saved")
    with database.reading() as session:
        last = get_batch(session, code="26-0010").entry
    assert (last.stuck, last.bench_id, last.hormone and last.hormone.ppm) == (110, 1, 1000)


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


@pytest.mark.usefixtures("old_batch")
@pytest.mark.parametrize("address", PAGES)
def test_pages_of_batches_fit_and_keep_the_rules(enter: Enter, address: str) -> None:
    page = enter(Role.HEAD, size=NARROW)
    page.goto(address)
    for fold in page.locator("summary").all():
        fold.click()
    assert page.evaluate("document.documentElement.scrollWidth") == NARROW["width"]
    low = page.evaluate(
        """() => [...document.querySelectorAll('main button, main .do, main input, main select')]
            .filter(one => !['hidden', 'checkbox', 'radio'].includes(one.type) && one.offsetParent)
            .map(one => [one.outerHTML.slice(0, 80), one.getBoundingClientRect().height])
            .filter(([, height]) => height < 48)"""
    )
    assert low == []
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
