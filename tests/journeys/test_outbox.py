"""Entries kept on the device: without network, with lost answers, refused, and of two people."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, Route, expect

from app.domain.people import Actor, Role
from app.store.queries.checks import list_checks
from app.store.session import Database
from tests.journeys.conftest import PASSWORD, PHONE, Site
from tests.services.batch_records import add_bench, add_plant
from tests.services.check_records import stick

pytestmark = pytest.mark.browser

Enter = Callable[..., Page]
ADDRESS = "/batches/26-0001/checks/new"
HEAD = "Ines Farrow"
TRAINEE = "Tomas Quill"


@pytest.fixture(autouse=True)
def _batch(site: Site, database: Database, head: Actor) -> None:
    """Batch 26-0001 of 96, never looked at."""
    site.loses_network = True
    with database.writing() as session:
        stick(session, head, plant=add_plant(session), bench_id=add_bench(session))


def rooted(database: Database) -> list[int]:
    with database.reading() as session:
        return [check.counts.rooted for check in list_checks(session, batch_id=1)]


def says(page: Page, text: str) -> None:
    expect(page.locator("#saved")).to_have_text(text)


def type_count(page: Page, number: str) -> None:
    page.get_by_label("Rooted", exact=True).fill(number)
    page.get_by_role("button", name="Save the check").last.click()


def change_to(page: Page, name: str) -> None:
    page.goto("/change-person")
    page.get_by_label(name).check()
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Change person").click()


def send_now(page: Page) -> None:
    page.evaluate("dispatchEvent(new Event('online'))")


def wait_without_network(page: Page, number: str) -> None:
    page.goto(ADDRESS)
    page.context.set_offline(True)
    type_count(page, number)
    says(page, "1 waiting on this device. No network now; sent by itself once it is back.")


def test_an_open_page_keeps_entries_without_network(enter: Enter, database: Database) -> None:
    page = enter(Role.TRAINEE, size=PHONE)
    wait_without_network(page, "12")
    expect(page.get_by_role("status").first).to_contain_text("Kept on this device")
    expect(page.get_by_label("Rooted", exact=True)).to_have_value("")
    type_count(page, "3")
    says(page, "2 waiting on this device. No network now; sent by itself once it is back.")
    assert rooted(database) == []
    page.context.set_offline(False)
    send_now(page)
    says(page, "All entries saved.")
    assert rooted(database) == [12, 3]


def test_an_entry_whose_answer_is_lost_counts_once(enter: Enter, database: Database) -> None:
    page = enter(Role.TRAINEE, size=PHONE)
    page.goto(ADDRESS)

    def lose(route: Route) -> None:
        route.fetch(max_redirects=0)
        route.abort()

    page.route(f"**{ADDRESS}", lose, times=1)
    type_count(page, "12")
    says(page, "1 waiting on this device. No network now; sent by itself once it is back.")
    assert rooted(database) == [12]
    send_now(page)
    says(page, "All entries saved.")
    assert rooted(database) == [12]


def test_what_waits_survives_the_page_being_closed(enter: Enter, database: Database) -> None:
    page = enter(Role.TRAINEE, size=PHONE)
    wait_without_network(page, "12")
    context = page.context
    page.close()
    context.set_offline(False)
    later = context.new_page()
    later.goto("/")
    says(later, "All entries saved.")
    assert rooted(database) == [12]


def test_what_was_refused_is_kept_shown_and_mended(enter: Enter, database: Database) -> None:
    page = enter(Role.TRAINEE, size=PHONE)
    wait_without_network(page, "97")
    page.context.set_offline(False)
    send_now(page)
    says(page, "1 was refused and kept.")
    page.get_by_role("link", name="What waits here").click()
    expect(page.get_by_role("main")).to_contain_text("26-0001")
    expect(page.get_by_role("main")).to_contain_text("97")
    page.get_by_role("button", name="Mend it").click()
    expect(page.get_by_role("alert")).to_contain_text("more than that")
    expect(page.get_by_label("Rooted", exact=True)).to_have_value("97")
    type_count(page, "79")
    expect(page.get_by_role("status").first).to_contain_text("79 newly rooted")
    says(page, "All entries saved.")
    assert rooted(database) == [79]


def test_what_was_refused_can_be_put_aside_and_brought_back(enter: Enter) -> None:
    page = enter(Role.TRAINEE, size=PHONE)
    wait_without_network(page, "97")
    page.context.set_offline(False)
    send_now(page)
    says(page, "1 was refused and kept.")
    page.goto("/waiting")
    page.get_by_role("button", name="Put aside").click()
    says(page, "All entries saved.")
    page.get_by_role("button", name="Bring back").click()
    says(page, "1 was refused and kept.")


def test_what_waits_can_be_taken_back(enter: Enter, database: Database) -> None:
    page = enter(Role.TRAINEE, size=PHONE)
    other = page.context.new_page()
    other.goto("/waiting")
    wait_without_network(page, "12")
    other.bring_to_front()
    other.evaluate("dispatchEvent(new Event('focus'))")
    other.get_by_role("button", name="Take back").click()
    expect(other.get_by_role("main")).to_contain_text("Taken back")
    page.context.set_offline(False)
    send_now(other)
    says(other, "All entries saved.")
    with database.reading() as session:
        checks = list_checks(session, batch_id=1)
    assert [check.counts.withdrawn for check in checks] == [True]


def test_an_entry_stays_with_its_person(site: Site, enter: Enter, database: Database) -> None:
    page = enter(Role.TRAINEE, size=PHONE)
    wait_without_network(page, "12")
    page.context.set_offline(False)
    # Somebody else takes the phone over before anything could be sent.
    page.route(f"**{ADDRESS}", lambda route: route.abort())
    change_to(page, HEAD)
    says(page, "1 entry of somebody else waits here.")
    page.unroute_all()
    send_now(page)
    says(page, "1 entry of somebody else waits here.")
    assert rooted(database) == []
    change_to(page, TRAINEE)
    says(page, "All entries saved.")
    assert rooted(database) == [12]
    assert site.troubles == []


def test_an_old_page_of_one_person_sends_nothing_as_another(
    enter: Enter, database: Database
) -> None:
    page = enter(Role.TRAINEE, size=PHONE)
    page.goto(ADDRESS)
    other = page.context.new_page()
    change_to(other, HEAD)
    type_count(page, "12")
    says(page, "1 waiting on this device. Sign in again to send what waits.")
    assert rooted(database) == []
