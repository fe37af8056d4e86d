"""The round by phone: twelve batches, losses, a wrong count mended, the network off in between."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Locator, Page, expect

from app.domain.people import Actor, Role
from app.store.queries.checks import StoredCheck, list_checks
from app.store.queries.today import list_round
from app.store.session import Database
from tests.conftest import TODAY
from tests.journeys.conftest import PHONE, Site
from tests.journeys.page_rules import BY_THE_BENCH, page_faults
from tests.services.batch_records import add_bench, add_plant, days_ago
from tests.services.check_records import Stuck, check, said, stick

pytestmark = pytest.mark.browser

Enter = Callable[..., Page]
BATCHES = 12


@pytest.fixture(autouse=True)
def _batches(site: Site, database: Database, head: Actor) -> None:
    """Twelve batches of 96 on one bench, stuck 30 days ago and never looked at since."""
    site.loses_network = True
    with database.writing() as session:
        plant, bench = add_plant(session), add_bench(session)
        for _ in range(BATCHES):
            stick(session, head, plant=plant, bench_id=bench, stuck_on=days_ago(30))


def found(database: Database) -> dict[str, list[StoredCheck]]:
    """Return the checks that count, by the code of their batch."""
    with database.reading() as session:
        checks = [
            stored
            for number in range(1, BATCHES + 2)
            for stored in list_checks(session, batch_id=number)
        ]
    told: dict[str, list[StoredCheck]] = {}
    for stored in checks:
        if not stored.counts.withdrawn:
            told.setdefault(stored.batch_code, []).append(stored)
    return told


def here(page: Page) -> Locator:
    """Return the one batch in sight."""
    return page.locator("section.round-batch:visible")


def at(page: Page, code: str) -> None:
    expect(page.get_by_role("heading", level=2).first).to_contain_text(code)


def press(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).tap()


def count(page: Page, rooted: str) -> None:
    here(page).get_by_label("Rooted", exact=True).fill(rooted)
    press(page, "Save and next")


def all_saved(page: Page) -> None:
    expect(page.locator("#saved")).to_have_text("All entries saved.", timeout=30_000)


def count_by_buttons(page: Page) -> None:
    """By ten and by one; then one tap for nothing new."""
    at(page, "26-0001")
    press(page, "+10: Rooted")
    press(page, "One more: Rooted")
    expect(
        here(page).get_by_text("11 newly rooted, 11 so far. Leaves 85 unrooted.")
    ).to_be_visible()
    press(page, "Save and next")
    at(page, "26-0002")
    press(page, "All well, only looked")


def count_two_losses(page: Page) -> None:
    """Each with its cause as a large button; what is plainly missing is said at once."""
    at(page, "26-0003")
    here(page).get_by_label("Rooted", exact=True).fill("4")
    press(page, "One more: Newly lost")
    here(page).get_by_label("basal rot", exact=True).first.check()
    press(page, "Save and next")
    at(page, "26-0004")
    here(page).get_by_label("Rooted", exact=True).fill("90")
    here(page).get_by_label("what is left", exact=True).first.check()
    press(page, "+10: Newly lost")
    press(page, "Save and next")
    expect(page.get_by_role("alert")).to_contain_text("Choose what they were lost to")
    here(page).get_by_label("dried out", exact=True).first.check()
    press(page, "Save and next")
    expect(page.get_by_role("alert")).to_contain_text("do not fit")
    here(page).get_by_label("Rooted", exact=True).fill("80")
    press(page, "Save and next")


def mend_a_wrong_count(page: Page) -> None:
    """Undone right after it was saved, and saved as it is."""
    at(page, "26-0005")
    count(page, "50")
    at(page, "26-0006")
    press(page, "Undo 26-0005")
    at(page, "26-0005")
    expect(here(page).get_by_label("Rooted", exact=True)).to_have_value("50")
    count(page, "5")


def skip_one_and_leave_one_for_later(page: Page) -> None:
    """The one comes at the end, the other once it is asked for."""
    at(page, "26-0006")
    press(page, "Skip")
    at(page, "26-0007")
    press(page, "Come back later")
    for number in range(8, 13):
        at(page, f"26-00{number:02}")
        count(page, str(number))
    at(page, "26-0007")
    count(page, "7")
    expect(page.get_by_role("heading", name="That was the round")).to_be_visible()
    expect(here(page).get_by_text("11 checked; 1 skipped: 26-0006.")).to_be_visible()
    press(page, "Go through the skipped ones")
    at(page, "26-0006")
    count(page, "0")


def test_a_round_of_twelve(enter: Enter, database: Database) -> None:
    page = enter(Role.TRAINEE, size=PHONE)
    page.get_by_role("link", name="Start the round").tap()
    expect(here(page).get_by_text("1 of 12")).to_be_visible()
    count_by_buttons(page)
    count_two_losses(page)
    mend_a_wrong_count(page)
    skip_one_and_leave_one_for_later(page)
    expect(here(page).get_by_text("12 checked.")).to_be_visible()
    all_saved(page)
    told = found(database)
    assert {code: [one.counts.rooted for one in checks] for code, checks in told.items()} == {
        "26-0001": [11],
        "26-0002": [0],
        "26-0003": [4],
        "26-0004": [6],
        "26-0005": [5],
        "26-0006": [0],
        "26-0007": [7],
        **{f"26-00{number:02}": [number] for number in range(8, 13)},
    }
    lost = [(loss.number, loss.cause) for checks in told.values() for loss in checks[0].counts.lost]
    assert lost == [(1, "basal rot"), (10, "dried out")]
    assert told["26-0002"][0].counts.kind == "looked only"
    # A look does not stand for the count that is due.
    page.reload()
    expect(here(page).get_by_text("1 of 1,")).to_be_visible()
    at(page, "26-0002")


def test_the_network_off_in_the_middle(enter: Enter, database: Database) -> None:
    page = enter(Role.TRAINEE, size=PHONE)
    page.goto("/round")
    count(page, "1")
    at(page, "26-0002")
    page.context.set_offline(True)
    for number in range(2, 12):
        at(page, f"26-00{number:02}")
        count(page, str(number))
    # Undone before anybody can have it: it is simply put right.
    press(page, "Undo 26-0011")
    at(page, "26-0011")
    count(page, "21")
    at(page, "26-0012")
    expect(page.locator("[data-saved-line]")).to_contain_text("10 waiting on this device.")
    page.get_by_label("type or scan its code").fill("26-0999")
    press(page, "Go to it")
    expect(page.get_by_text("No network now: 26-0999")).to_be_visible()
    count(page, "97")
    expect(page.get_by_role("alert")).to_contain_text("do not fit")
    count(page, "12")
    assert list(found(database)) == ["26-0001"]
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    all_saved(page)
    told = found(database)
    assert [one.counts.rooted for (one,) in told.values()] == [*range(1, 11), 21, 12]


def test_what_waits_is_not_asked_for_again(enter: Enter, database: Database) -> None:
    page = enter(Role.TRAINEE, size=PHONE)
    page.goto("/round")
    page.route("**/checks/new**", lambda route: route.abort())
    count(page, "1")
    at(page, "26-0002")
    page.reload()
    at(page, "26-0002")
    expect(page.locator("[data-saved-line]")).to_contain_text("1 waiting on this device.")
    page.unroute_all()
    page.evaluate("dispatchEvent(new Event('online'))")
    all_saved(page)
    assert [one.counts.rooted for one in found(database)["26-0001"]] == [1]


def test_what_is_refused_comes_back_on_the_round(
    enter: Enter, database: Database, head: Actor
) -> None:
    page = enter(Role.TRAINEE, size=PHONE)
    page.goto("/round")
    with database.writing() as session:
        first = list_round(session, on=TODAY)[0]
        check(session, head, Stuck(id=first.batch_id, code=first.code), said(0, 50))
    # The page still takes 96 for unrooted.
    count(page, "60")
    at(page, "26-0002")
    expect(page.get_by_text("26-0001 was refused and comes next")).to_be_visible()
    count(page, "2")
    at(page, "26-0001")
    expect(here(page).get_by_text("Please look at this again")).to_be_visible()
    expect(here(page).get_by_label("Rooted", exact=True)).to_have_value("60")
    count(page, "6")
    all_saved(page)
    assert [one.counts.rooted for one in found(database)["26-0001"]] == [50, 6]


def test_a_batch_that_is_not_due_is_reached_by_its_code(
    enter: Enter, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        plant = add_plant(session, "Salvia officinalis")
        stick(session, head, plant=plant, stuck_on=TODAY - timedelta(days=1))
    page = enter(Role.TRAINEE, size=PHONE)
    page.goto("/round")
    page.get_by_label("type or scan its code").fill("http://nursery.lan:8080/batches/26-0003")
    press(page, "Go to it")
    at(page, "26-0003")
    page.get_by_label("type or scan its code").fill("26-0013")
    press(page, "Go to it")
    page.wait_for_url("**first=26-0013**")
    at(page, "26-0013")
    count(page, "3")
    all_saved(page)
    assert [one.counts.rooted for one in found(database)["26-0013"]] == [3]


def test_a_code_that_leads_nowhere_says_so(enter: Enter) -> None:
    page = enter(Role.TRAINEE, size=PHONE)
    page.goto("/round?first=26-9999")
    expect(page.get_by_text("There is no batch 26-9999.")).to_be_visible()
    expect(page.get_by_label("type or scan its code")).to_have_value("26-9999")


def test_without_a_script_each_batch_posts_by_itself(enter: Enter, database: Database) -> None:
    page = enter(Role.TRAINEE, size=PHONE, javascript=False)
    page.goto("/round")
    assert page.get_by_role("heading", level=2).count() == BATCHES
    second = page.locator("section").nth(1)
    second.get_by_label("Rooted", exact=True).fill("8")
    second.get_by_role("button", name="Save and next").last.click()
    expect(page.get_by_role("status").first).to_contain_text("8 newly rooted")
    assert page.url.endswith("/round")
    assert page.get_by_role("heading", level=2).count() == BATCHES - 1
    assert [one.counts.rooted for one in found(database)["26-0002"]] == [8]


def test_every_state_keeps_the_page_rules(enter: Enter) -> None:
    page = enter(Role.TRAINEE, size=PHONE, reduced_motion="reduce")
    page.goto("/round")
    press(page, "One more: Newly lost")
    press(page, "Save and next")
    expect(page.get_by_role("alert")).to_be_visible()
    assert page_faults(page, least=BY_THE_BENCH) == []
    page.get_by_role("button", name="High contrast and larger text, for sunlight").click()
    assert page_faults(page, least=BY_THE_BENCH) == []
    count(page, "0")
    here(page).get_by_label("basal rot", exact=True).first.check()
    count(page, "0")
    assert page_faults(page, least=BY_THE_BENCH) == []
