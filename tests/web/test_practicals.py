"""The pages of practical sessions, used without script."""

import re
from collections.abc import Callable
from datetime import timedelta
from html import unescape
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient

from app.clock import FixedClock
from app.domain.people import Actor, Role
from app.services.starting_data import load_starting_data
from app.store.queries.batches import get_batch
from app.store.queries.method_cards import list_cards
from app.store.queries.practicals import get_practical
from app.store.session import Database
from tests.conftest import NOW
from tests.services.batch_records import add_bench, add_plant, add_stock_plant
from tests.services.check_records import Stuck, check, said, stick

SignIn = Callable[[Role], FlaskClient]
PLAN = {
    "version": "1",
    "held_on": "t",
    "topic": "Cuttings of evergreen shrubs",
    "taught_by": "1",
    "people": ["2", "3"],
    "plant": "Hebe 'Great Orme'",
    "cutting_type": "semi-ripe",
    "per_head": "20",
    "per_place": "",
    "hormone": "IBA talc 1000 ppm",
    "container": "1",
    "mix": "1",
    "bench": "1",
    "heads": "",
    "steps": "Choose shoots\r\nCut below a node",
    "tools": "knife\n1 sprayer for all",
    "cautions": "The floor is wet",
}


@pytest.fixture(autouse=True)
def records(database: Database) -> None:
    with database.writing() as session:
        load_starting_data(session, now=NOW)
        add_stock_plant(session, add_plant(session))
        add_bench(session)


def posted(**typed: object) -> dict[str, object]:
    return {"post_key": token_urlsafe(18), **typed}


def plan(browser: FlaskClient, **typed: object) -> None:
    answer = browser.post("/practicals/new", data=posted(**PLAN | typed))
    assert answer.status_code == 303, answer.get_data(as_text=True)


def text(browser: FlaskClient, address: str) -> str:
    return browser.get(address).get_data(as_text=True)


def stuck_by(numbers: dict[str, str], **typed: object) -> dict[str, object]:
    lines: dict[str, object] = {}
    for place, (person, stuck) in enumerate(numbers.items()):
        lines |= {f"people-{place}-person": person, f"people-{place}-stuck": stuck}
    return posted(
        plant="Hebe 'Great Orme'",
        stuck_on="t",
        cutting_type="semi-ripe",
        hormone="none",
        container="1",
        bench="1",
        mix="1",
        **lines,
        **typed,
    )


def acknowledge(browser: FlaskClient, address: str, **typed: object) -> int:
    shown = re.search(r'name="shown"[^>]*value="(\w+)"', text(browser, address))
    assert shown is not None
    return browser.post(address, data=posted(shown=shown[1], **typed)).status_code


def test_it_is_planned_as_typed_and_shown_where_people_look(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    plan(browser)
    page = text(browser, "/practicals/D-0001")
    for words in (
        "Choose shoots", "40 cuttings", "20 for each", "IBA talc 1000 ppm", "knife", "sprayer",
        "The floor is wet", "Not read yet by Ada Marsh, Tomas Quill", "taught by Ines Farrow",
    ):  # fmt: skip
        assert words in page, words
    for address in ("/", "/practicals"):
        assert "Cuttings of evergreen shrubs" in text(browser, address), address
    for address in ("/records", "/method-cards"):
        assert 'href="/practicals"' in text(browser, address), address


def test_its_code_leads_straight_to_it(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    plan(browser)
    assert browser.get("/search?q=d1").location == "/practicals/D-0001"
    assert "There is no practical session D-0007" in text(browser, "/search?q=D-0007")


def test_it_is_worked_out_for_other_numbers(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    plan(browser)
    assert "240 cuttings" in text(browser, "/practicals/D-0001?heads=12")
    assert "40 cuttings" in text(browser, "/practicals/D-0001?heads=many")
    page = text(browser, "/practicals/D-0001")
    sheet = re.search(r'href="(/plan/prepare[^"]*)"', page)
    assert sheet is not None
    prepared = text(browser, unescape(sheet[1]))
    assert "To have ready for D-0001: 40 cuttings in 2 batches" in prepared


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"topic": ""}, "Say what is taught"),
        ({"held_on": "soon"}, "Give a day"),
        ({"plant": "Zelkova serrata"}, "not in the log yet"),
        ({"per_head": "many"}, "number"),
        ({"people": ["99"]}, "Choose people from the list"),
        ({"container": "99"}, "Choose one from the list"),
        ({"tools": "12"}, "is no tool"),
        ({"hormone": "1000 ppm"}, "substance"),
        ({"cutting_type": "magic"}, "Choose one from the list"),
    ],
)
def test_a_refusal_keeps_what_was_typed(
    sign_in: SignIn, changes: dict[str, object], says: str
) -> None:
    browser = sign_in(Role.HEAD)
    answer = browser.post("/practicals/new", data=posted(**PLAN | changes))
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert says in page
    assert "Cut below a node" in page
    assert "Error: " in page


def test_a_method_card_gives_the_steps(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.HEAD)
    with database.reading() as session:
        card = next(one for one in list_cards(session) if one.values.cut)
    steps = card.values.steps
    assert f"/practicals/new?card={card.id}" in text(browser, f"/method-cards/{card.id}")
    page = text(browser, f"/practicals/new?card={card.id}")
    assert f"cuttings of {card.plant}" in page
    assert (steps[0].step if steps else "Make the base a") in unescape(page)


def test_it_is_corrected_and_planned_again(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    plan(browser)
    again = text(browser, "/practicals/new?like=D-0001")
    assert "Cut below a node" in again
    assert 'id="people-2" value="2" checked' in again
    page = text(browser, "/practicals/D-0001/edit")
    version = re.search(r'name="version"[^>]*value="(\d+)"', page)
    assert version is not None
    typed = {"version": version[1], "topic": "Hardwood", "held_on": "25 nov 2026"}
    changed = posted(**PLAN | typed)
    assert browser.post("/practicals/D-0001/edit", data=changed).status_code == 303
    page = text(browser, "/practicals/D-0001")
    assert "<del>Cuttings of evergreen shrubs</del>" in page


def test_it_is_put_off_cancelled_and_reinstated(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    plan(browser)
    refused = browser.post("/practicals/D-0001/put-off", data=posted(held_on="+7", reason=""))
    assert refused.status_code == 422
    moved = posted(held_on="+7", reason="snow")
    assert browser.post("/practicals/D-0001/put-off", data=moved).status_code == 303
    assert "Put off from" in text(browser, "/practicals/D-0001")
    assert "evergreen" not in text(browser, "/")
    assert browser.post("/practicals/D-0001/cancel", data=posted()).status_code == 422
    answer = browser.post("/practicals/D-0001/cancel", data=posted(reason="nobody can come"))
    assert answer.status_code == 303
    assert "nobody can come" in text(browser, "/practicals/D-0001")
    assert browser.post("/practicals/D-0001/reinstate", data=posted()).status_code == 303
    assert "Cancelled" not in text(browser, "/practicals/D-0001")


def test_a_trainee_reads_the_cautions_for_themselves(sign_in: SignIn) -> None:
    plan(sign_in(Role.HEAD))
    browser = sign_in(Role.TRAINEE)
    page = text(browser, "/")
    assert "You take part" in page
    assert acknowledge(browser, "/practicals/D-0001/cautions") == 303
    page = text(browser, "/practicals/D-0001")
    assert "You have read the cautions" in page
    assert "Who has read the cautions" not in page
    answer = browser.post("/practicals/D-0001/cautions", data=posted(shown="old"))
    assert answer.status_code == 422
    assert "changed meanwhile" in answer.get_data(as_text=True)
    page = text(sign_in(Role.HEAD), "/practicals/D-0001")
    assert "Not read yet by Ada Marsh." in page
    assert "read by themselves" in page


def test_the_head_reads_them_aloud_and_takes_it_back(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    plan(browser)
    assert acknowledge(browser, "/practicals/D-0001/read-aloud") == 422
    assert acknowledge(browser, "/practicals/D-0001/read-aloud", people=["99"]) == 422
    assert acknowledge(browser, "/practicals/D-0001/read-aloud", people=["2", "3"]) == 303
    page = text(browser, "/practicals/D-0001")
    assert page.count("read aloud by Ines Farrow") == 2
    assert browser.post("/practicals/D-0001/readings/1/withdraw", data=posted()).status_code == 303
    assert "Not read yet by" in text(browser, "/practicals/D-0001")


def test_one_form_sticks_a_batch_for_each(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.HEAD)
    plan(browser)
    page = text(browser, "/practicals/D-0001/batches/new")
    assert 'name="people-0-stuck" type="text" value="20"' in page
    assert "Cautions not read yet by" in page
    said_of = stuck_by({"2": "20", "3": ""}, **{"sources-0-stock_plant": "s31"})
    answer = browser.post("/practicals/D-0001/batches/new", data=said_of)
    assert answer.status_code == 303, answer.get_data(as_text=True)
    with database.reading() as session:
        batch = get_batch(session, code="26-0001")
        assert get_practical(session, code="D-0001").batches == 1
    assert (batch.entry.stuck, batch.stuck_by) == (20, "Tomas Quill")
    assert batch.sources[0].code == "S-0031"
    page = text(browser, "/practicals/D-0001/batches")
    assert "Codes for the labels: 26-0001" in page
    assert "Stuck in the practical session" in text(browser, "/batches/26-0001")


def test_all_batches_or_none(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.HEAD)
    plan(browser)
    address = "/practicals/D-0001/batches/new"
    answer = browser.post(address, data=stuck_by({"2": "20", "3": "plenty"}))
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert 'id="people-1-stuck-error"' in page
    assert 'value="plenty"' in page
    answer = browser.post(address, data=stuck_by({"2": "20", "3": "9"}, bottom_heat_c="hot"))
    assert answer.status_code == 422
    assert answer.get_data(as_text=True).count('class="error" id="bottom_heat_c-error"') == 1
    assert browser.post(address, data=stuck_by({"2": "", "3": " "})).status_code == 422
    assert browser.post(address, data=stuck_by({"1": "20"})).status_code == 422
    with database.reading() as session:
        assert get_practical(session, code="D-0001").batches == 0


def stick_for(database: Database, actor: Actor, *, people: tuple[int, ...]) -> list[Stuck]:
    with database.writing() as session:
        plant = add_plant(session, "Cistus albidus")
        stuck = [
            stick(session, actor, plant=plant, stuck=20, stuck_by_id=person) for person in people
        ]
        for place, batch in enumerate(stuck):
            check(session, actor, batch, said(3, rooted=9 + place))
    return stuck


def test_side_by_side_the_head_sees_all_and_a_trainee_their_own(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    browser = sign_in(Role.HEAD)
    plan(browser, held_on="-60")
    batches = stick_for(database, head, people=(1, 2, 3))
    for batch in batches[:2]:
        add = posted(batch=batch.code)
        assert browser.post("/practicals/D-0001/batches/add", data=add).status_code == 303
    page = text(browser, "/practicals/D-0001/batches")
    assert page.index("Ines Farrow</th>") < page.index("Tomas Quill</th>")
    assert "20 stuck: 9 rooted, 11 unrooted" in page
    assert "All together" in page
    assert "says little by itself" in page
    own = text(sign_in(Role.TRAINEE), "/practicals/D-0001/batches")
    assert batches[1].code in own
    assert batches[0].code not in own
    assert "All together" not in own
    assert "once three people have batches" in own
    add = posted(batch=batches[2].code)
    sign_in(Role.HEAD).post("/practicals/D-0001/batches/add", data=add)
    own = text(sign_in(Role.TRAINEE), "/practicals/D-0001/batches")
    assert "All together" in own
    assert batches[2].code not in own


def test_a_trainee_adds_and_takes_off_their_own(
    sign_in: SignIn, database: Database, head: Actor, clock: FixedClock
) -> None:
    plan(sign_in(Role.HEAD), held_on="-60")
    foreign, own = stick_for(database, head, people=(1, 2))
    browser = sign_in(Role.TRAINEE)
    address = "/practicals/D-0001/batches/add"
    assert browser.post(address, data=posted(batch="26-0099")).status_code == 422
    assert browser.post(address, data=posted(batch=foreign.code)).status_code == 403
    assert browser.post(address, data=posted(batch=own.code)).status_code == 303
    clock.instant = NOW + timedelta(minutes=1)
    off = f"/practicals/D-0001/batches/{own.code}/take-off"
    assert browser.post(off, data=posted()).status_code == 303
    assert "No batch belongs" in text(browser, "/practicals/D-0001/batches")


def test_the_list_is_paged(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    assert "No practical session is planned yet" in text(browser, "/practicals")
    for number in range(51):
        plan(browser, topic=f"Lesson {number:02d}", people=[])
    text(browser, "/practicals")
    page = text(browser, "/practicals")
    assert "Lesson 50" in page
    assert "Lesson 00" not in page
    assert "Lesson 00" in text(browser, "/practicals?past=50")
