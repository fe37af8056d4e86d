"""Sticking by phone: ten of the like, and batches begun without network."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from app.domain.people import Actor, Role
from app.store.models.batches import Batch
from app.store.session import Database
from tests.journeys.conftest import PHONE, Site
from tests.journeys.page_rules import BY_THE_BENCH, page_faults
from tests.services.batch_records import add_bench, add_plant, add_stock_plant
from tests.services.check_records import stick

pytestmark = pytest.mark.browser

Enter = Callable[..., Page]


@pytest.fixture(autouse=True)
def _first(site: Site, database: Database, head: Actor, trainee: Actor) -> None:
    """Batch 26-0001 of 96, stuck by the trainee on a bench; stock plant S-0031 of the same name."""
    site.loses_network = True
    with database.writing() as session:
        plant = add_plant(session)
        add_stock_plant(session, plant)
        stick(session, trainee, plant=plant, bench_id=add_bench(session))


def stuck(database: Database) -> dict[str, int]:
    with database.reading() as session:
        query = select(Batch.code, Batch.stuck).where(Batch.voided_at.is_(None)).order_by(Batch.id)
        return {row.code: row.stuck for row in session.execute(query)}


def send_now(page: Page) -> None:
    page.evaluate("dispatchEvent(new Event('online'))")


def all_saved(page: Page) -> None:
    expect(page.locator("#saved")).to_have_text("All entries saved.", timeout=30_000)


def number(page: Page, typed: str) -> None:
    page.get_by_label("Number stuck", exact=True).fill(typed)
    page.get_by_role("button", name="Save and next", exact=True).tap()
    expect(page.get_by_label("Number stuck", exact=True)).to_have_value("")


def test_ten_of_the_like(enter: Enter, database: Database) -> None:
    page = enter(Role.TRAINEE, size=PHONE)
    page.get_by_role("link", name="Stick by phone").tap()
    page.get_by_role("link", name="Like the last one: 26-0001").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Hebe ‘Great Orme’")
    page.get_by_role("button", name="+10: Number stuck").tap()
    page.get_by_role("button", name="One more: Number stuck").tap()
    page.get_by_role("button", name="Save and next", exact=True).tap()
    expect(page.get_by_text("26-0002 is saved: 11")).to_be_visible()
    for typed in range(12, 21):
        number(page, str(typed))
    all_saved(page)
    expect(page.get_by_text("26-0011 is saved: 20")).to_be_visible()
    page.get_by_role("button", name="Undo 26-0011").tap()
    expect(page.get_by_text("26-0011 is undone.")).to_be_visible()
    all_saved(page)
    assert stuck(database) == {
        "26-0001": 96,
        **{f"26-00{place:02}": place + 9 for place in range(2, 11)},
    }


def test_a_batch_begun_without_network_has_a_mark(enter: Enter, database: Database) -> None:
    page = enter(Role.TRAINEE, size=PHONE)
    page.goto("/stick?plant=http://nursery.lan/stock-plants/S-0031")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Hebe ‘Great Orme’")
    expect(page.get_by_label("Bench", exact=True)).to_have_value("1")
    page.context.set_offline(True)
    number(page, "84")
    number(page, "40")
    waiting = page.locator("[data-stuck-list] li", has_text="Write on its label")
    expect(waiting).to_have_count(2)
    marks = re.findall(r"Write on its label: ([A-Z]{2}-\d+)", " ".join(waiting.all_inner_texts()))
    assert len(set(marks)) == 2
    # Typed wrong, and taken back before anybody could have it.
    number(page, "4000")
    page.locator("[data-stuck-list] li").first.get_by_role("button", name="Undo").tap()
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    all_saved(page)
    assert list(stuck(database).values())[:3] == [96, 84, 40]
    expect(page.get_by_text(f"Its label said {marks[1]} until now.")).to_be_visible()
    page.goto(f"/search?q={marks[1]}")
    expect(page.get_by_role("heading", level=1)).to_contain_text("26-0002")


def test_what_is_missing_is_said_at_once(enter: Enter, database: Database) -> None:
    page = enter(Role.TRAINEE, size=PHONE, reduced_motion="reduce")
    page.goto("/stick/new?like=26-0001")
    page.get_by_role("button", name="Save and next", exact=True).tap()
    expect(page.locator("#stuck-error")).to_have_text("Type how many were stuck.")
    assert page_faults(page, least=BY_THE_BENCH) == []
    assert len(stuck(database)) == 1


def test_what_is_refused_is_kept_and_mended(enter: Enter, database: Database) -> None:
    page = enter(Role.TRAINEE, size=PHONE, reduced_motion="reduce")
    page.goto("/stick/new?like=26-0001")
    page.get_by_text("Plant, type, hormone, container, bench").tap()
    page.get_by_label("Hormone", exact=True).fill("IBA 900000 ppm")
    page.context.set_offline(True)
    number(page, "84")
    # The next one is being typed by then, and is not written over.
    page.get_by_label("Number stuck", exact=True).fill("40")
    page.context.set_offline(False)
    send_now(page)
    expect(page.get_by_text("of Hebe 'Great Orme' was refused and kept")).to_be_visible()
    page.get_by_role("button", name="Mend it").tap()
    expect(page.get_by_label("Number stuck", exact=True)).to_have_value("84")
    assert page_faults(page, least=BY_THE_BENCH) == []
    page.get_by_label("Hormone", exact=True).fill("none")
    page.get_by_role("button", name="Save and next", exact=True).tap()
    expect(page.get_by_text("26-0002 is saved: 84")).to_be_visible()
    all_saved(page)
    assert stuck(database) == {"26-0001": 96, "26-0002": 84}


def test_what_is_refused_comes_back_into_the_form(enter: Enter, database: Database) -> None:
    page = enter(Role.TRAINEE, size=PHONE)
    page.goto("/stick/new?like=26-0001")
    page.get_by_label("Number stuck", exact=True).fill("84 of them")
    page.get_by_role("button", name="Save and next", exact=True).tap()
    expect(page.locator(".summary")).to_be_focused()
    expect(page.locator("#stuck-error")).to_contain_text("Give a number")
    expect(page).to_have_title(re.compile("^Error: "))
    expect(page.get_by_label("Number stuck", exact=True)).to_have_value("84 of them")
    number(page, "84")
    expect(page.get_by_text("26-0002 is saved: 84")).to_be_visible()
    expect(page.locator(".summary")).to_have_count(0)
    all_saved(page)
    assert stuck(database) == {"26-0001": 96, "26-0002": 84}


def test_without_a_script_it_goes_on_with_the_next(enter: Enter, database: Database) -> None:
    page = enter(Role.TRAINEE, size=PHONE, javascript=False)
    page.goto("/stick/new?like=26-0001")
    page.get_by_label("Number stuck", exact=True).fill("84")
    page.get_by_role("button", name="Save and next", exact=True).last.click()
    expect(page.get_by_role("status").first).to_contain_text("26-0002 is saved: 84")
    assert page.url.endswith("/stick/new?like=26-0002")
    assert stuck(database) == {"26-0001": 96, "26-0002": 84}
