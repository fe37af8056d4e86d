"""The main forms when they are refused: the sentence, the typed text kept, and a page in order.

WCAG 2.2, success criteria 3.3.1 (what is wrong is said in words) and 3.3.3 (and what to put there).
"""

from dataclasses import dataclass, field

import pytest
from playwright.sync_api import expect

from tests.conftest import PASSWORD
from tests.journeys import told_log
from tests.journeys.conftest import Opened
from tests.journeys.page_rules import BY_THE_BENCH, TARGET, page_faults

pytestmark = pytest.mark.browser


@dataclass(frozen=True, kw_only=True)
class Wrong:
    """A form filled in wrongly: texts by the name of their field, and a sentence it leads to."""

    address: str
    said: str
    typed: dict[str, str] = field(default_factory=dict)
    least: int = TARGET


FORMS = (
    Wrong(
        address="/batches/new",
        typed={"plant": "Hebe 'Great Orme'", "stuck": "many", "taken": "x", "stuck_on": "31/2"},
        said="number stuck: give a number",
        least=BY_THE_BENCH,
    ),
    Wrong(
        address="/batches/new",
        typed={"plant": "Zelkova serata", "stuck": "96"},
        said="new",
        least=BY_THE_BENCH,
    ),
    Wrong(
        address=f"/batches/{told_log.STORY}/checks/new",
        typed={"rooted": "500", "lost-0-number": "2", "checked_on": "-1"},
        said="choose what they were lost to",
        least=BY_THE_BENCH,
    ),
    Wrong(
        address=f"/batches/{told_log.STORY}/checks/new",
        typed={"rooted": "500"},
        said="leave 62 of 96 unrooted",
        least=BY_THE_BENCH,
    ),
    Wrong(
        address=f"/batches/{told_log.STORY}/checks/new",
        typed={"rooted": "10", "unrooted_counted": "40"},
        said="missing",
        least=BY_THE_BENCH,
    ),
    Wrong(
        address=f"/batches/{told_log.STORY}/edit", typed={"stuck": "20"}, said="34 rooted and lost"
    ),
    Wrong(address=f"/batches/{told_log.STORY}/void", said="why"),
    Wrong(address=f"/batches/{told_log.STORY}/move", said="where it stands"),
    Wrong(
        address=f"/batches/{told_log.STORY}/check-plan", typed={"look_every_days": "x"}, said="days"
    ),
    Wrong(address="/benches/1/walk", typed={"walked_on": "soon"}, said="day", least=BY_THE_BENCH),
    Wrong(address="/benches/1/move", typed={"moved_on": "soon"}, said="day"),
    Wrong(address="/benches/new", said="name"),
    Wrong(address="/check-plans/genera/new", said="genus"),
    Wrong(
        address="/checks/1/correct", typed={"rooted": "90", "reason": "again"}, said="13 november"
    ),
    Wrong(address="/checks/1/withdraw", said="why"),
    Wrong(
        address="/checks/1/photographs/new",
        typed={"taken_on": "soon", "caption": "The left tray"},
        said="take or choose",
        least=BY_THE_BENCH,
    ),
    Wrong(address="/photographs/1/withdraw", said="why"),
    Wrong(address="/containers/new", typed={"plugs": "x"}, said="whole number"),
    Wrong(address="/hormones/new", typed={"hormone": "1000 ppm"}, said="substance"),
    Wrong(
        address=f"/batches/{told_log.STORY}/pot-up", typed={"number": "31"}, said="30 rooted ones"
    ),
    Wrong(
        address=f"/batches/{told_log.STORY}/after-rooting/new?stage=lost",
        typed={"number": "2"},
        said="lost to",
    ),
    Wrong(address="/liner-lots/L-0001/split", typed={"number": "2"}, said="at least one"),
    Wrong(address="/liner-lots/L-0004/merge", said="from 2"),
    Wrong(address="/liner-lots/L-0001/move", said="where it stands"),
    Wrong(address="/liner-lots/L-0001/edit", typed={"trays": "x"}, said="number"),
    Wrong(
        address="/liner-lots/L-0001/stages/new?stage=graded+out",
        typed={"number": "3"},
        said="why or as what",
    ),
    Wrong(address="/liner-stages/2/correct", typed={"number": "1"}, said="why"),
    Wrong(address="/liner-stages/2/withdraw", said="why"),
    Wrong(address="/label-numbers", typed={"number": "many"}, said="number"),
    Wrong(address="/label-numbers/N-0002", typed={"batch": "26-9999"}, said="no batch 26-9999"),
    Wrong(address="/labels/address", typed={"address": "potting shed"}, said="as in a browser"),
    Wrong(
        address="/batches/new?tag=N-0001",
        typed={"plant": "Hebe 'Great Orme'", "stuck": "96"},
        said="is on batch 26-0001 already",
        least=BY_THE_BENCH,
    ),
    Wrong(address="/lost-causes/new", said="name"),
    Wrong(address="/method-cards/new", typed={"length": "long"}, said="in cm"),
    Wrong(
        address="/method-cards/1/edit",
        typed={"steps-0-step": "", "steps-0-reason": "firm wood"},
        said="say what is done here",
    ),
    Wrong(
        address="/people/key-of-trainee/sign-offs/new",
        typed={"genus": "1234", "signed_on": "soon"},
        said="day",
    ),
    Wrong(address="/sign-offs/1/withdraw", typed={"reason": ""}, said="say why it is withdrawn"),
    Wrong(
        address="/mix-lots/new?mix=1",
        typed={"ingredients-0-amount": "some", "medium_ph": "sour", "saturation_ml": "x"},
        said="give a number",
    ),
    Wrong(address=f"/mix-lots/M-0001/used/{told_log.UNSEEN}", typed={"litres": "x"}, said="number"),
    Wrong(address="/mixes/new", typed={"parts": "bark two"}, said="part"),
    Wrong(address="/nursery", typed={"name": "", "zone": "Nowhere"}, said="zone"),
    Wrong(address="/own-password", typed={"password": "x", "new_password": "y"}, said="password"),
    Wrong(address="/people/new", said="name"),
    Wrong(
        address="/plan/orders/new",
        typed={"plant": "Hebe", "plants": "some", "due_on": "31/2", "sure": "all"},
        said="calendar",
    ),
    Wrong(address="/plan/orders/1/batches/new", typed={"batch": "26-77"}, said="no batch 26-77"),
    Wrong(address="/plan/board/new", typed={"week": "week 60", "cuttings": "0"}, said="order"),
    Wrong(address="/plan/board/1/edit", typed={"cuttings": "none"}, said="Give a number"),
    Wrong(address="/plan/orders/1/close", said="why"),
    Wrong(address="/plant-names/new", typed={"plant": "hebe Great Orme'"}, said="quotation mark"),
    Wrong(address="/practicals/new", typed={"held_on": "soon", "heads": "x"}, said="day"),
    Wrong(address="/practicals/D-0001/edit", typed={"topic": ""}, said="what is taught"),
    Wrong(address="/practicals/D-0002/put-off", typed={"held_on": "soon"}, said="day"),
    Wrong(address="/practicals/D-0002/cancel", said="why"),
    Wrong(address="/practicals/D-0001/read-aloud", said="Tick those"),
    Wrong(
        address="/practicals/D-0001/batches/new",
        typed={"people-0-stuck": "plenty", "people-1-stuck": "none"},
        said="number",
    ),
    Wrong(address="/practicals/D-0001/batches/add", typed={"batch": "26-77"}, said="no batch"),
    Wrong(address="/records/import", said="sheet"),
    Wrong(
        address="/stick/new?plant=S-0001",
        typed={"stuck": "many", "hormone": "much"},
        said="give a number",
        least=BY_THE_BENCH,
    ),
    Wrong(
        address="/round-sheets/2/entry",
        typed={"rooted-1": "many", "cause-2": "frost", "checked_on": "-1"},
        said="line 2: this cause is not on the sheet",
    ),
    Wrong(address="/stock-plants/new", typed={"plants": "none", "came_on": "soon"}, said="plant"),
    Wrong(address="/stock-plants/S-0001/discard", said="why"),
    Wrong(
        address="/stock-plants/S-0001/events/new/inspected",
        typed={"happened_on": "soon", "finding": "spots"},
        said="day",
    ),
    Wrong(
        address="/stock-plants/S-0001/events/new/counted",
        typed={"plants": "none", "happened_on": "today"},
        said="number",
    ),
    Wrong(address="/stock-plants/S-0001/events/1/withdraw", said="why"),
    Wrong(
        address="/treatments/new",
        typed={"what": "", "begun_time": "early", "batches": "26-9999"},
        said="time of day",
    ),
    Wrong(address="/treatments/T-0001/withdraw", said="why"),
    Wrong(address="/holds/new?code=S-0001", typed={"since_on": "soon"}, said="day such as"),
    Wrong(address="/holds/H-0001/lift", said="why"),
    Wrong(address="/dispatches/new", typed={"lines": "no such thing"}, said="Line 1"),
    Wrong(address="/dispatches/G-0001/edit", typed={"to_name": ""}, said="to whom"),
    Wrong(address="/dispatches/G-0001/withdraw", said="why"),
    Wrong(
        address="/plant-passports/new?batch=26-0002",
        typed={"plants": "lots", "labels": ""},
        said="number",
    ),
    Wrong(address="/plant-passports/settings", typed={"operator_number": "*"}, said="register"),
    Wrong(address="/plant-passports/P-0001/void", said="why"),
    Wrong(address="/holds/H-0001/lift/1", said="why"),
    Wrong(address="/change-person", typed={"password": "wrong"}, said="name"),
    Wrong(address="/sign-in", typed={"name": "Ines Farrow", "password": "wrong"}, said="password"),
)


@pytest.mark.parametrize("wrong", FORMS, ids=lambda wrong: f"{wrong.address} {wrong.typed}")
def test_a_refused_form(told: Opened, wrong: Wrong) -> None:
    page = told.page
    told.site.troubles.clear()
    # What was typed into the same form before would come back.
    page.evaluate("sessionStorage.clear()")
    page.goto(wrong.address)
    page.evaluate("document.querySelectorAll('details').forEach(fold => { fold.open = true; })")
    for name, text in wrong.typed.items():
        page.locator(f"main [name='{name}']").fill(text)
    page.locator("main form .acts button").first.click()
    summary = page.locator(".summary")
    expect(summary).to_be_focused()
    expect(summary).to_contain_text(wrong.said, ignore_case=True)
    assert page.title().startswith("Error: ")
    for name, text in wrong.typed.items():
        if "password" not in name:
            expect(page.locator(f"main [name='{name}']")).to_have_value(text)
    faults = [*page_faults(page, least=wrong.least), *told.site.troubles]
    assert not faults, "\n".join(faults)


def test_what_somebody_else_changed_meanwhile(told: Opened) -> None:
    page = told.page
    told.site.troubles.clear()
    page.goto("/mixes/1/edit")
    page.get_by_label("Ingredients").fill("bark 2")
    page.locator("[name=version]").evaluate("field => { field.value = '7'; }")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Somebody else changed this")
    faults = [*page_faults(page), *told.site.troubles]
    assert not faults, "\n".join(faults)


def test_a_page_that_was_open_too_long(told: Opened) -> None:
    page = told.page
    told.site.troubles.clear()
    page.evaluate("sessionStorage.clear()")
    page.goto("/mixes/new")
    page.get_by_label("Name").fill("Tray mix")
    page.locator("main [name=csrf_token]").evaluate("field => { field.value = 'stale'; }")
    page.get_by_role("button", name="Save").click()
    expect(page.locator(".summary")).to_be_focused()
    expect(page.get_by_label("Name")).to_have_value("Tray mix")
    faults = [*page_faults(page), *told.site.troubles]
    assert not faults, "\n".join(faults)


def test_typed_text_outlives_the_sign_in(told: Opened) -> None:
    told.site.troubles.clear()
    page = told.site.sign_in("Ines Farrow", PASSWORD, reduced_motion="reduce")
    page.goto("/mixes/new")
    page.get_by_label("Name").fill("Tray mix")
    page.context.clear_cookies()
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("What you typed is kept")).to_be_visible()
    faults = page_faults(page)
    page.get_by_label("Name").fill("Ines Farrow")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_text("What you typed is still here")).to_be_visible()
    faults += page_faults(page)
    page.get_by_role("button", name="Show what I typed").click()
    expect(page.get_by_label("Name")).to_have_value("Tray mix")
    page.context.close()
    faults += told.site.troubles
    assert not faults, "\n".join(faults)
