"""The head at the PC, by keyboard: corrects, plans, walks a bench, reads a sheet in, hands over."""

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from app.domain.outcomes import CheckKind, Loss
from app.domain.people import Actor, Role
from app.services.verifying import verify_log
from app.store.queries.batches import BatchStory, get_batch
from app.store.queries.check_plans import list_genus_plans
from app.store.queries.checks import StoredCheck, list_check_versions, list_checks
from app.store.queries.history import list_history
from app.store.session import Database
from tests.journeys.conftest import DESK, PASSWORD
from tests.services.batch_records import days_ago
from tests.services.check_records import check, lost, said, stick
from tests.services.notebook_imports import SHEET, facts_of, write
from tests.web.batch_pages import set_up_nursery

pytestmark = pytest.mark.browser

Enter = Callable[..., Page]
MOST_TABS = 120
TWO_WRONG = """batch,plant,stuck_on,stuck,mix,bench,checked_on,rooted,lost,lost_cause,weather
A1,Prunus domestica,2026-05-01,110,Sand,Bench 3,2026-06-01,30,4,basal rot,dry
B1,Hebe 'Great Orme',2026-05-01,100,Perlite,Bench 9,,,,,
B1,,,,,,2026-06-01,30,4,grey mould,
B2,Rosa,2026-05-32,100,,,,,,,
B1,,,,,,2026-06-20,90,,,
"""


def tab_to(page: Page, wanted: Locator) -> None:
    """Press Tab until the focus stands there."""
    for _ in range(MOST_TABS):
        if wanted.evaluate("one => one === document.activeElement"):
            return
        page.keyboard.press("Tab")
    expect(wanted).to_be_focused()


def go_to(page: Page, wanted: Locator) -> None:
    """Go there by Tab and press Enter."""
    tab_to(page, wanted)
    page.keyboard.press("Enter")


def retype(page: Page, wanted: Locator, text: str) -> None:
    """Go into a field by Tab and type another text over the one in it."""
    tab_to(page, wanted)
    page.keyboard.press("Control+a")
    page.keyboard.type(text)


def saved(page: Page) -> Locator:
    return page.locator("[data-saved]")


def read(database: Database, code: str) -> tuple[BatchStory, tuple[StoredCheck, ...]]:
    with database.reading() as session:
        batch = get_batch(session, code=code)
        return batch, list_checks(session, batch_id=batch.id)


@pytest.fixture(autouse=True)
def _three_batches(database: Database, trainee: Actor) -> None:
    """Three on one bench; the first counted by the trainee 21 and 12 days ago."""
    set_up_nursery(database)
    with database.writing() as session:
        first, _, _ = (
            stick(session, trainee, plant=1, bench_id=1, stuck_on=days_ago(42 - later))
            for later in range(3)
        )
        check(session, trainee, first, said(21, 30, lost=lost(4)))
        check(session, trainee, first, said(12, 20))


@pytest.fixture
def page(enter: Enter) -> Page:
    return enter(Role.HEAD, size=DESK)


def find_batch(page: Page, code: str) -> None:
    tab_to(page, page.get_by_label("Find"))
    page.keyboard.type(code)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text(code)


def test_a_batch_is_corrected(page: Page, database: Database) -> None:
    find_batch(page, "26-0001")
    go_to(page, page.get_by_role("link", name="Correct this batch"))
    retype(page, page.get_by_label("Number stuck"), "98")
    retype(page, page.get_by_label("Why it is corrected"), "two more in the corner")
    page.keyboard.press("Enter")
    expect(saved(page)).to_contain_text("26-0001 is corrected.")
    batch, _ = read(database, "26-0001")
    assert (batch.entry.stuck, batch.standing.unrooted) == (98, 44)
    with database.reading() as session:
        newest, *_ = list_history(session, subject="batch 26-0001", zone="Europe/London")
        assert list(verify_log(session)) == []
    assert newest.who == "Ines Farrow"
    assert ("96", "98") in [(change.before, change.after) for change in newest.changes]
    expect(page.get_by_text("stuck: 96 to 98")).to_be_visible()


def test_a_check_is_corrected_but_not_against_a_later_one(page: Page, database: Database) -> None:
    find_batch(page, "26-0001")
    go_to(page, page.get_by_role("link", name="Wed 4 Nov"))
    go_to(page, page.get_by_role("link", name="Correct it"))
    expect(page.get_by_label("Why it is corrected")).to_be_focused()
    page.keyboard.type("the left tray was counted twice")
    retype(page, page.get_by_label("Rooted", exact=True), "90")
    page.keyboard.press("Enter")
    expect(page.locator(".summary")).to_be_focused()
    expect(page.locator("#rooted-error")).to_contain_text(
        "With these numbers the check of Fri 13 November 2026 would no longer add up."
    )
    expect(page.get_by_label("Rooted", exact=True)).to_have_value("90")
    expect(page.get_by_label("Why it is corrected")).to_have_value(
        "the left tray was counted twice"
    )
    _, checks = read(database, "26-0001")
    assert checks[0].version == 1
    # The sentence on top leads to its field.
    go_to(page, page.locator(".summary a"))
    retype(page, page.get_by_label("Rooted", exact=True), "15")
    page.keyboard.press("Enter")
    expect(saved(page)).to_contain_text("Corrected. 26-0001: 15 newly rooted")
    batch, (first, second) = read(database, "26-0001")
    assert (batch.standing.rooted, batch.standing.lost, batch.standing.unrooted) == (35, 4, 57)
    with database.reading() as session:
        versions = list_check_versions(session, check_id=first.id)
        assert list(verify_log(session)) == []
    assert [version.counts.rooted for version in versions] == [15, 30]
    assert versions[0].reason == "the left tray was counted twice"
    assert (second.counts.rooted, second.version) == (20, 1)


def test_a_check_plan_is_changed(page: Page, database: Database) -> None:
    before, _ = read(database, "26-0002")
    go_to(page, page.get_by_role("link", name="Records"))
    go_to(page, page.get_by_role("link", name="Check plans", exact=True))
    go_to(page, page.get_by_role("link", name="Add a plan for a genus"))
    expect(page.get_by_label("Genus")).to_be_focused()
    page.keyboard.type("Hebe")
    retype(page, page.get_by_label("A look every"), "4")
    retype(page, page.get_by_label("First count on day"), "55")
    page.keyboard.press("Enter")
    expect(page.get_by_role("row", name="Hebe").first).to_contain_text("day 55")
    with database.reading() as session:
        plans = list_genus_plans(session)
    assert [
        (plan.genus, plan.plan.look_every_days, plan.plan.first_count_day) for plan in plans
    ] == [("Hebe", 4, 55)]
    after, _ = read(database, "26-0002")
    assert before.next_count_on != after.next_count_on
    assert after.next_count_on is not None
    assert (after.next_count_on - after.entry.stuck_on).days == 55


def test_a_bench_is_walked_all_well_except_one(page: Page, database: Database) -> None:
    go_to(page, page.get_by_role("link", name="Walked it, all well except"))
    tab_to(page, page.get_by_label("26-0002"))
    page.keyboard.press("Space")
    go_to(page, page.get_by_role("button", name="Log the look"))
    expect(saved(page)).to_contain_text("a look logged for 2 batches")
    kinds = [[one.counts.kind for one in read(database, f"26-000{n}")[1]] for n in (1, 2, 3)]
    counted, looked = CheckKind.COUNTED, CheckKind.LOOKED_ONLY
    assert kinds == [[counted, counted, looked], [], [looked]]
    with database.reading() as session:
        assert list(verify_log(session)) == []


@pytest.mark.parametrize("javascript", [True, False])
def test_a_sheet_with_two_wrong_lines_is_read_in(
    enter: Enter, database: Database, head: Actor, tmp_path: Path, *, javascript: bool
) -> None:
    write(database, SHEET, actor=head)
    sheet = tmp_path / "notebook 2026.csv"
    sheet.write_text(TWO_WRONG, encoding="utf-8")
    page = enter(Role.HEAD, size=DESK, javascript=javascript)
    go_to(page, page.get_by_role("link", name="Records"))
    go_to(page, page.get_by_role("link", name="Read a sheet in"))
    page.get_by_label("Sheet").set_input_files(sheet)
    go_to(page, page.get_by_role("button", name="Read it and show what it would do"))
    expect(page.get_by_role("heading", level=1)).to_contain_text("2 lines are wrong")
    for line, column, sentence in (
        ("Line 5", "stuck_on", "“2026-05-32” is no day with its year"),
        ("Line 6", "rooted", "you cannot add 90 rooted"),
    ):
        row = page.get_by_role("row", name=line)
        expect(row).to_contain_text(f"{column}: ")
        expect(row).to_contain_text(sentence)
    go_to(page, page.get_by_role("link", name="1 changed"))
    expect(page.get_by_text("100 in the log becomes 110.")).to_be_visible()
    go_to(page, page.get_by_role("button", name="Leave the wrong lines out, write the others"))
    expect(page.get_by_text("2 wrong lines left out").first).to_be_visible()
    batches = [read(database, f"26-{number:04d}") for number in (4, 5, 6, 7)]
    assert [batch.plant for batch, _ in batches] == [
        "Prunus domestica",
        "Salvia officinalis",
        "Salvia officinalis",
        "Hebe 'Great Orme'",
    ]
    assert batches[0][0].entry.stuck == 110
    (newest,) = batches[-1][1]
    assert newest.counts.lost == (Loss(cause="grey mould", number=4),)
    assert facts_of(database, "26-0007") == (30, 4, 0, 66)
    with database.reading() as session:
        assert list(verify_log(session)) == []


def hand_over(page: Page, name: str) -> None:
    go_to(page, page.get_by_role("link", name="Change person"))
    tab_to(page, page.get_by_label("Ada Marsh"))
    while not page.get_by_label(name).is_checked():
        page.keyboard.press("ArrowDown")
    tab_to(page, page.get_by_label("Password"))
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    expect(page.locator(".person b")).to_have_text(name)


def test_the_person_at_the_pc_changes_and_typed_text_stays_with_its_own(page: Page) -> None:
    go_to(page, page.get_by_role("link", name="Stick a batch"))
    expect(page.get_by_label("Plant name")).to_be_focused()
    page.keyboard.type("Hebe")
    hand_over(page, "Tomas Quill")
    expect(page.get_by_label("Plant name")).to_have_value("")
    hand_over(page, "Ines Farrow")
    expect(page.get_by_label("Plant name")).to_have_value("Hebe")
