"""Every kind of record is written with the browser's script switched off.

Sticking and reading a sheet in without script stand with their people's journeys.
"""

from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from app.domain.check_plans import CheckPlan
from app.domain.orders import OrderState
from app.domain.outcomes import CheckKind, Loss
from app.domain.people import Actor, Role
from app.services.verifying import verify_log
from app.store.queries.batches import get_batch
from app.store.queries.benches import list_benches
from app.store.queries.check_plans import list_batch_plans
from app.store.queries.checks import StoredCheck, list_checks
from app.store.queries.mixes import list_mixes
from app.store.queries.orders import get_order
from app.store.queries.plant_names import find_like_named
from app.store.queries.stock_plants import get_stock_plant
from app.store.session import Database
from tests.journeys.conftest import PASSWORD, Site
from tests.services.batch_records import days_ago
from tests.services.check_records import stick
from tests.web.batch_pages import set_up_nursery

pytestmark = pytest.mark.browser

Enter = Callable[..., Page]


@pytest.fixture(autouse=True)
def _nursery(database: Database, head: Actor) -> None:
    """Two batches of 96 on one bench, stuck 42 days ago."""
    set_up_nursery(database)
    with database.writing() as session:
        for _ in range(2):
            stick(session, head, plant=1, bench_id=1)


@pytest.fixture
def page(enter: Enter) -> Page:
    return enter(Role.HEAD, javascript=False)


def saved(page: Page) -> Locator:
    return page.locator("[data-saved]")


def save(page: Page, words: str) -> None:
    page.get_by_role("button", name=words, exact=True).first.click()


def checks_of(database: Database, code: str) -> tuple[StoredCheck, ...]:
    with database.reading() as session:
        assert list(verify_log(session)) == []
        return list_checks(session, batch_id=get_batch(session, code=code).id)


def fill(page: Page, **typed: str) -> None:
    """Type texts into fields by their names."""
    for name, text in typed.items():
        page.locator(f"main [name='{name.replace('__', '-')}']").fill(text)


def test_a_check_is_logged_corrected_undone_and_withdrawn(page: Page, database: Database) -> None:
    page.goto("/batches/26-0001/checks/new")
    fill(page, rooted="2 x 10 - 3", lost__0__number="4")
    save(page, "More lines for losses")
    page.locator("[name='lost-0-cause']").select_option("basal rot")
    fill(page, lost__3__number="1")
    page.locator("[name='lost-3-cause']").select_option("slugs")
    save(page, "Save the check")
    expect(saved(page)).to_contain_text("17 newly rooted, 5 lost (basal rot 4, slugs 1)")
    page.goto("/checks/1/correct")
    fill(page, reason="miscounted", rooted="19")
    save(page, "Save the correction")
    expect(saved(page)).to_contain_text("Corrected. 26-0001: 19 newly rooted")
    save(page, "Undo")
    expect(saved(page)).to_contain_text("Undone.")
    page.goto("/batches/26-0001/checks/new")
    save(page, "All well, only looked")
    expect(saved(page)).to_contain_text("26-0001: looked only")
    page.goto("/checks/2/withdraw")
    fill(page, reason="another batch")
    save(page, "Withdraw it")
    expect(saved(page)).to_contain_text("Withdrawn")
    count, look = checks_of(database, "26-0001")
    losses = (Loss(cause="basal rot", number=4), Loss(cause="slugs", number=1))
    assert (count.counts.rooted, count.counts.lost) == (17, losses)
    assert (look.counts.kind, look.counts.withdrawn) == (CheckKind.LOOKED_ONLY, True)


def test_missing_ones_are_asked_about(page: Page, database: Database) -> None:
    page.goto("/batches/26-0001/checks/new")
    page.get_by_text("Counted more closely").click()
    fill(page, rooted="20", unrooted_counted="70")
    save(page, "Save the check")
    page.get_by_label("They are missing").check()
    save(page, "Save the check")
    expect(saved(page)).to_contain_text("6 lost (missing 6)")
    (count,) = checks_of(database, "26-0001")
    assert count.counts.lost == (Loss(cause="missing", number=6),)


def test_a_batch_is_corrected_moved_voided_and_counts_again(page: Page, database: Database) -> None:
    page.goto("/batches/26-0001/edit")
    fill(page, stuck="99")
    page.locator("[name=cutting_type]").select_option("semi-ripe")
    save(page, "Save the correction")
    expect(saved(page)).to_contain_text("26-0001 is corrected.")
    page.goto("/benches/new")
    fill(page, name="Cold frame")
    save(page, "Save")
    page.goto("/batches/26-0001/move")
    page.locator("[name=bench]").select_option("Cold frame")
    save(page, "Save the move")
    expect(saved(page)).to_contain_text("Cold frame")
    page.goto("/batches/26-0001/void")
    fill(page, reason="entered twice")
    save(page, "Void this batch")
    expect(saved(page)).to_contain_text("26-0001 is void")
    save(page, "Let it count again")
    expect(saved(page)).to_contain_text("26-0001 counts again.")
    with database.reading() as session:
        batch = get_batch(session, code="26-0001")
        assert list(verify_log(session)) == []
        assert [bench.name for bench in list_benches(session)] == ["Mist bench 2", "Cold frame"]
    assert (batch.entry.stuck, batch.entry.cutting_type) == (99, "semi-ripe")
    assert (batch.benches, batch.void) == (("Cold frame",), None)


def test_a_bench_is_walked_and_a_batch_planned(page: Page, database: Database) -> None:
    page.goto("/benches/1/walk")
    page.get_by_label("26-0002").check()
    save(page, "Log the look")
    expect(saved(page)).to_contain_text("Mist bench 2 walked")
    assert [len(checks_of(database, code)) for code in ("26-0001", "26-0002")] == [1, 0]
    page.goto("/batches/26-0001/check-plan")
    fill(page, look_every_days="3")
    save(page, "Set the plan")
    expect(saved(page)).to_be_visible()
    with database.reading() as session:
        plans = [(code, stored.plan) for code, stored in list_batch_plans(session)]
    assert plans == [("26-0001", CheckPlan(look_every_days=3))]


def test_a_stock_plant_is_added_corrected_and_discarded(page: Page, database: Database) -> None:
    page.goto("/stock-plants/new")
    fill(page, plant="Cistus × purpureus", plants="6")
    save(page, "Save")
    expect(saved(page)).to_contain_text("S-0032")
    page.goto("/stock-plants/S-0032/edit")
    fill(page, supplier="Holm Nurseries")
    save(page, "Save")
    expect(saved(page)).to_contain_text("S-0032")
    page.goto("/stock-plants/S-0032/events/new/counted")
    fill(page, plants="7", happened_on="today")
    save(page, "Save")
    expect(saved(page)).to_contain_text("S-0032")
    page.goto("/stock-plants/S-0032/discard")
    fill(page, reason="virus", discarded_on=days_ago(1).isoformat())
    save(page, "Discard it")
    expect(saved(page)).to_contain_text("S-0032")
    with database.reading() as session:
        kept = get_stock_plant(session, code="S-0032")
    assert (kept.entry.plants, kept.discarded_on) == (7, days_ago(1))


def test_a_mix_and_a_plant_name_are_written(page: Page, database: Database) -> None:
    page.goto("/mixes/new")
    fill(page, name="Tray mix", parts="bark 2\nsand 1")
    save(page, "Save")
    expect(saved(page)).to_contain_text("Tray mix")
    page.get_by_role("link", name="Change it").click()
    fill(page, parts="bark 3\nsand 1", shrinkage="10")
    save(page, "Save")
    expect(saved(page)).to_contain_text("Tray mix")
    page.goto("/plant-names/new")
    fill(page, plant="Salvia officinalis 'Icterina'", family="Lamiaceae")
    save(page, "Save")
    expect(saved(page)).to_contain_text("Icterina")
    with database.reading() as session:
        (mix,) = [mix for mix in list_mixes(session) if mix.name == "Tray mix"]
        assert find_like_named(session, text="Salvia officinalis 'Icterina'")
    assert [(part.ingredient, part.parts) for part in mix.newest.parts] == [
        ("bark", 3),
        ("sand", 1),
    ]
    assert mix.newest.shrinkage_share == 0.1


def test_somebody_is_added_and_comes_in_by_a_one_time_code(page: Page, site: Site) -> None:
    page.goto("/people/new")
    fill(page, name="Nell Oake")
    page.get_by_label("trainee: sticks and checks").check()
    save(page, "Add")
    expect(saved(page)).to_contain_text("they need a one-time code")
    page.get_by_role("button", name="one-time code").click()
    code = page.locator("main code").inner_text()
    theirs = site.open_page(javascript=False)
    theirs.goto("/sign-in")
    theirs.get_by_role("link", name="I have a one-time code").click()
    fill(theirs, name="nell oake", code=code, password=PASSWORD)
    save(theirs, "Set the password")
    expect(theirs.get_by_role("link", name="Stick a batch")).to_be_visible()
    expect(theirs.locator(".person b")).to_have_text("Nell Oake")


def test_an_order_is_entered_turned_and_counted_to(page: Page, database: Database) -> None:
    page.goto("/plan/orders/new")
    page.get_by_label("Plant, or a genus").fill("Hebe 'Great Orme'")
    page.get_by_label("How many").fill("40")
    page.get_by_label("By when").fill("week 30")
    save(page, "Save")
    expect(saved(page)).to_contain_text("Order 1 is saved.")
    expect(page.locator("main")).to_contain_text("Not plannable")
    page.get_by_role("link", name="Count one to it that is stuck already").click()
    page.get_by_label("Batch", exact=True).fill("26-1")
    save(page, "Count it")
    expect(saved(page)).to_contain_text("26-0001 counts to order 1.")
    expect(page.locator("main")).to_contain_text("1 batch, 96 stuck for it")
    page.locator("summary", has_text="The whole order").click()
    page.locator("summary", has_text="What if it were stuck otherwise").click()
    page.get_by_label("In so many batches").fill("none")
    save(page, "Work it out")
    expect(page.locator(".error")).to_contain_text("Give a number in batches")
    page.goto("/plan/orders/1")
    save(page, "It is met")
    expect(saved(page)).to_contain_text("Order 1 is met")
    with database.reading() as session:
        assert get_order(session, number=1).state is OrderState.MET
