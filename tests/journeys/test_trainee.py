"""A trainee on a phone: sticks ten batches, and four weeks later checks three of them."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Locator, Page, expect

from app.clock import FixedClock
from app.domain.outcomes import CheckKind, Loss
from app.domain.people import Actor, Role
from app.services.verifying import verify_log
from app.store.queries.batches import BatchStory, get_batch
from app.store.queries.checks import StoredCheck, list_checks
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.journeys.conftest import PHONE
from tests.services.check_records import stick
from tests.web.batch_pages import set_up_nursery

pytestmark = pytest.mark.browser

Enter = Callable[..., Page]
NUMBERS = range(101, 111)


def told(page: Page) -> Locator:
    """Return where the page says what was saved."""
    return page.locator("[data-saved]")


def read(database: Database, code: str) -> tuple[BatchStory, tuple[StoredCheck, ...]]:
    with database.reading() as session:
        batch = get_batch(session, code=code)
        return batch, list_checks(session, batch_id=batch.id)


@pytest.fixture(autouse=True)
def _nursery(database: Database) -> None:
    set_up_nursery(database)


def stick_ten(page: Page) -> None:
    page.get_by_role("link", name="Stick a batch").click()
    expect(page.get_by_label("Plant name")).to_be_focused()
    page.get_by_label("Plant name").fill("hebe great orme")
    page.get_by_label("Number stuck").fill(str(NUMBERS[0]))
    page.get_by_label("Cutting type").select_option("semi-ripe")
    page.get_by_label("Hormone", exact=True).fill("iba talc 1000")
    page.get_by_label("Container").select_option("84-plug tray")
    page.get_by_label("Bench").select_option("Mist bench 2")
    page.get_by_role("button", name="Save and stick another like this").tap()
    for place, number in enumerate(NUMBERS[1:], start=1):
        # The focus stands in the number already: a number and Enter are a whole batch.
        expect(page.get_by_label("Number stuck")).to_be_focused()
        expect(told(page)).to_contain_text(f"26-{place:04d} is saved")
        page.keyboard.type(str(number))
        page.keyboard.press("Enter")
    expect(told(page)).to_contain_text("26-0010 is saved")


@pytest.mark.parametrize("javascript", [True, False])
def test_ten_batches_like_one_another(
    enter: Enter, database: Database, trainee: Actor, *, javascript: bool
) -> None:
    stick_ten(enter(Role.TRAINEE, size=PHONE, javascript=javascript))
    for place, number in enumerate(NUMBERS, start=1):
        batch, checks = read(database, f"26-{place:04d}")
        entry = batch.entry
        assert (batch.plant, entry.stuck, entry.stuck_on) == ("Hebe 'Great Orme'", number, TODAY)
        assert (entry.cutting_type, batch.container) == ("semi-ripe", "84-plug tray")
        assert entry.hormone is not None
        assert (entry.hormone.label, batch.benches) == ("IBA talc 1000 ppm", ("Mist bench 2",))
        assert (entry.stuck_by_id, batch.recorded_by, checks) == (2, trainee.name, ())
    with database.reading() as session:
        assert list(verify_log(session)) == []


def lost(page: Page, line: int) -> Locator:
    return page.locator(f"[name='lost-{line - 1}-number']")


def cause(page: Page, line: int) -> Locator:
    return page.locator(f"[name='lost-{line - 1}-cause']")


def begin_check(page: Page, code: str) -> None:
    """Go to the form of a check by the code on the label."""
    page.goto("/")
    page.get_by_role("link", name="Check a batch").tap()
    page.get_by_label("Code on the label").fill(code)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text(code)
    expect(page.get_by_label("Rooted", exact=True)).to_be_focused()


def count_with_losses(page: Page) -> None:
    begin_check(page, "26-0001")
    page.keyboard.type("30")
    lost(page, 1).fill("4")
    cause(page, 1).select_option("basal rot")
    page.get_by_role("button", name="One more: Newly lost, line 2").tap()
    page.get_by_role("button", name="One more: Newly lost, line 2").tap()
    cause(page, 2).select_option("grey mould")
    page.get_by_role("button", name="Save the check").first.tap()
    expect(told(page)).to_contain_text("30 newly rooted, 6 lost (basal rot 4, grey mould 2)")


def only_look(page: Page) -> None:
    begin_check(page, "26-0002")
    page.get_by_role("button", name="All well, only looked").tap()
    expect(told(page)).to_contain_text("26-0002: looked only")


def be_refused(page: Page) -> None:
    """Type more than there are; the sentence stands by the field, and nothing typed is lost."""
    begin_check(page, "26-0001")
    page.keyboard.type("530")
    page.get_by_label("all rooted so far").check()
    lost(page, 1).fill("1")
    cause(page, 1).select_option("dried out")
    page.keyboard.press("Enter")
    summary = page.locator(".summary")
    expect(summary).to_be_focused()
    said = page.locator("#rooted-error").inner_text()
    assert "101" in said
    expect(summary).to_contain_text(said)
    expect(page.get_by_label("Rooted", exact=True)).to_have_value("530")
    expect(page.get_by_label("all rooted so far")).to_be_checked()
    expect(lost(page, 1)).to_have_value("1")
    expect(cause(page, 1)).to_have_value("dried out")


def test_three_checks_one_refused_and_one_undone(
    enter: Enter, database: Database, trainee: Actor, clock: FixedClock
) -> None:
    with database.writing() as session:
        for _ in range(2):
            stick(session, trainee, plant=1, stuck=101, stuck_on=TODAY)
    clock.instant = NOW + timedelta(days=28)
    page = enter(Role.TRAINEE, size=PHONE)
    count_with_losses(page)
    only_look(page)
    be_refused(page)
    page.get_by_label("Rooted", exact=True).fill("53")
    page.keyboard.press("Enter")
    expect(told(page)).to_contain_text("23 newly rooted, 1 lost (dried out 1)")
    batch, checks = read(database, "26-0001")
    assert (batch.standing.rooted, batch.standing.lost, batch.standing.unrooted) == (53, 7, 41)
    page.get_by_role("button", name="Undo").tap()
    expect(told(page)).to_contain_text("Undone. 26-0001")
    batch, checks = read(database, "26-0001")
    assert (batch.standing.rooted, batch.standing.lost, batch.standing.unrooted) == (30, 6, 65)
    first, last = checks
    losses = (Loss(cause="basal rot", number=4), Loss(cause="grey mould", number=2))
    assert (first.counts.rooted, first.counts.lost, first.checked_by) == (30, losses, trainee.name)
    assert (last.counts.rooted, last.typed_as, last.counts.withdrawn) == (23, "all so far", True)
    assert first.counts.checked_on == TODAY + timedelta(days=28)
    _, looks = read(database, "26-0002")
    assert [look.counts.kind for look in looks] == [CheckKind.LOOKED_ONLY]
    with database.reading() as session:
        assert list(verify_log(session)) == []
