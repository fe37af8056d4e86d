"""The pages of liners, used without script."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.services.verifying import verify_log
from app.store.queries.liner_lots import get_liner_lot
from app.store.session import Database
from tests.services.batch_records import (
    add_bench,
    add_container,
    add_mix,
    add_mix_lot,
    add_plant,
)
from tests.services.liner_records import rooted_batch
from tests.web.batch_pages import posted, problems_of, text_of

SignIn = Callable[[Role], FlaskClient]
HEBE = "26-0001"
OTHER = "26-0002"
CHECK = {
    "checked_on": "today",
    "version": "1",
    "kind": "counted",
    "typed_as": "new",
    "ending": "",
    "rooted": "5",
    "rooted_means": "holds to a tug",
    "reason": "miscounted",
} | {f"lost-{line}-{field}": "" for line in range(2) for field in ("number", "cause")}
ENTRY = {"on": "-5", "by": "", "notes": ""}


@pytest.fixture(autouse=True)
def records(database: Database, head: Actor) -> None:
    with database.writing() as session:
        plant = add_plant(session)
        for _ in range(2):
            rooted_batch(session, head, plant=plant, rooted=80)
        add_bench(session)
        add_container(session, name="9 cm pot", kind="pot", plugs=None)


def page(browser: FlaskClient, address: str) -> str:
    return text_of(browser.get(address))


def pot_up(browser: FlaskClient, code: str = HEBE, **more: str) -> str:
    typed = ENTRY | {"number": "60", "container": "1", "bench": "1", "trays": "5"} | more
    answer = browser.post(f"/batches/{code}/pot-up", data=posted(**typed))
    assert answer.status_code == 303, problems_of(text_of(answer))
    return str(answer.location)


def enter(browser: FlaskClient, stage: str, lot: str = "L-0001", **more: str) -> Any:
    address = f"/liner-lots/{lot}/stages/new?stage={stage}"
    return browser.post(address, data=posted(**ENTRY | {"on": "-3"} | more))


def plants(database: Database, code: str = "L-0001") -> int:
    with database.reading() as session:
        return get_liner_lot(session, code=code).standing.number


def undo(browser: FlaskClient, address: str) -> Any:
    """Press the undo that the page after saving offers."""
    offered = re.findall(r'action="(/liner-stages/undo/[^"]+)"', page(browser, address))
    return browser.post(offered[-1], data=posted())


def test_rooted_ones_are_potted_up_from_the_batch(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    assert f"/batches/{HEBE}/pot-up" in page(browser, f"/batches/{HEBE}")
    assert 'value="80"' in page(browser, f"/batches/{HEBE}/pot-up")
    there = pot_up(browser)
    assert there.endswith("/liner-lots/L-0001")
    shown = page(browser, there)
    for words in ("60 plants", "growing on", "9 cm pot", "5 trays", "Mist bench 2", "L-0001"):
        assert words in shown
    story = page(browser, f"/batches/{HEBE}")
    assert "Of 80 rooted, 60 were potted up" in story
    assert "60 are growing on" in story
    assert "20 are not potted up" in story
    assert "L-0001" in page(browser, "/liner-lots")
    assert "/liner-lots" in page(browser, "/batches")
    assert "/liner-lots" in page(browser, "/records")


def test_what_was_saved_is_taken_back(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    answer = undo(browser, pot_up(browser))
    assert answer.status_code == 303
    assert "was withdrawn: nothing is in it" in page(browser, "/liner-lots/L-0001")
    assert "None of the rooted ones are potted up yet" in page(browser, f"/batches/{HEBE}")


def test_the_search_box_goes_to_a_lot(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    pot_up(browser)
    assert browser.get("/search?q=l1").location.endswith("/liner-lots/L-0001")
    assert "There is no liner lot L-0007" in page(browser, "/search?q=L-0007")


def test_the_stages_of_a_lot(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.HEAD)
    pot_up(browser)
    assert enter(browser, "lost", number="4", cause="1").status_code == 303
    assert enter(browser, "graded+out", number="6", grade="too small").status_code == 303
    assert plants(database) == 50
    assert enter(browser, "ready").status_code == 303
    assert enter(browser, "sent+out", number="12").status_code == 303
    assert enter(browser, "kept+as+stock+plants", number="2").status_code == 303
    shown = page(browser, "/liner-lots/L-0001")
    for words in ("36 plants", "ready since", "6 graded out, too small", "S-0001", "12 sent out"):
        assert words in shown
    assert "50 became ready" in page(browser, f"/batches/{HEBE}")
    with database.reading() as session:
        assert list(verify_log(session)) == []


def test_some_ready_ones_get_a_code_and_both_are_taken_back(
    sign_in: SignIn, database: Database
) -> None:
    browser = sign_in(Role.TRAINEE)
    pot_up(browser)
    answer = enter(browser, "ready", number="25")
    assert answer.location.endswith("/liner-lots/L-0002")
    assert (plants(database), plants(database, "L-0002")) == (35, 25)
    assert undo(browser, answer.location).status_code == 303
    assert (plants(database), plants(database, "L-0002")) == (60, 0)


def test_lots_are_split_and_merged(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.TRAINEE)
    for code in (HEBE, OTHER):
        pot_up(browser, code)
    entry = ENTRY | {"on": "-4", "bench": "1"}
    answer = browser.post("/liner-lots/L-0001/split", data=posted(**entry, number="20"))
    assert answer.location.endswith("L-0003")
    for lot in ("L-0001", "L-0002"):
        assert enter(browser, "ready", lot).status_code == 303
    page(browser, "/records")
    form = page(browser, "/liner-lots/L-0001/merge")
    assert "L-0002, 60 plants" in form
    assert "L-0003" not in form.partition("<form method")[2]
    answer = browser.post("/liner-lots/L-0001/merge", data=posted(**entry | {"on": "-1"}, lots="2"))
    assert answer.location.endswith("L-0004")
    shown = page(browser, answer.location)
    assert "100 plants" in shown
    assert "40 of " in shown
    assert [plants(database, f"L-000{number}") for number in range(1, 5)] == [0, 0, 20, 100]


def test_a_refusal_stands_by_its_field_and_keeps_what_was_typed(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    typed = ENTRY | {"number": "81", "trays": "5", "notes": "north side"}
    answer = browser.post(f"/batches/{HEBE}/pot-up", data=posted(**typed))
    assert answer.status_code == 422
    assert problems_of(text_of(answer)) == [
        "26-0001 has 80 rooted ones on Fri 20 November 2026: give at most so many."
    ]
    assert "north side" in text_of(answer)
    assert "No liner lot is there" in page(browser, "/liner-lots")


def test_a_stage_is_corrected_with_a_reason(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.TRAINEE)
    pot_up(browser)
    assert 'value="60"' in page(browser, "/liner-stages/1/correct")
    typed = ENTRY | {"number": "58", "container": "1"}
    answer = browser.post("/liner-stages/1/correct", data=posted(**typed, reason="miscounted"))
    assert answer.status_code == 303
    assert plants(database) == 58
    assert "withdrawn: miscounted" in page(browser, "/liner-lots/L-0001")


def test_a_stage_is_withdrawn_with_a_reason(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.TRAINEE)
    pot_up(browser)
    enter(browser, "lost", number="4", cause="1")
    answer = browser.post("/liner-stages/1/withdraw", data=posted(reason="wrong batch"))
    assert "would no longer add up" in problems_of(text_of(answer))[0]
    answer = browser.post("/liner-stages/2/withdraw", data=posted(reason="wrong lot"))
    assert answer.status_code == 303
    assert plants(database) == 60
    assert "withdrawn: wrong lot" in page(browser, "/liner-lots/L-0001")


def test_what_a_batch_went_through_before_potting_up(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    address = f"/batches/{HEBE}/after-rooting/new"
    assert browser.post(f"{address}?stage=weaning+begun", data=posted(**ENTRY)).status_code == 303
    lost = ENTRY | {"number": "3", "cause": "1"}
    assert browser.post(f"{address}?stage=lost", data=posted(**lost)).status_code == 303
    shown = page(browser, f"/batches/{HEBE}")
    assert "weaning begun" in shown
    assert "3 lost, " in shown
    assert "77 are not potted up" in shown
    assert browser.get(f"{address}?stage=ready").status_code == 404


def test_trays_and_notes_of_a_lot(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    pot_up(browser)
    typed = posted(version="1", trays="7", notes="by the door")
    assert browser.post("/liner-lots/L-0001/edit", data=typed).status_code == 303
    shown = page(browser, "/liner-lots/L-0001")
    assert ("7 trays" in shown, "by the door" in shown) == (True, True)


def test_lots_are_found_by_state_plant_and_bench(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    pot_up(browser)
    pot_up(browser, OTHER, bench="", number="10")
    enter(browser, "ready", "L-0002")
    page(browser, "/records")
    for asked, found in (
        ("which=ready", {"L-0002"}),
        ("which=growing+on", {"L-0001"}),
        ("bench=1", {"L-0001"}),
        ("find=hebe+orme", {"L-0001", "L-0002"}),
        ("find=fuchsia", set()),
        ("which=empty", set()),
    ):
        shown = page(browser, f"/liner-lots?{asked}")
        assert set(re.findall(r"/liner-lots/(L-\d+)", shown)) == found, asked


def test_a_check_that_found_rooted_ones_leads_on_to_potting_up(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    typed = posted(**CHECK)
    answer = browser.post(f"/batches/{HEBE}/checks/new", data=typed)
    assert answer.status_code == 303, text_of(answer)
    shown = page(browser, answer.location)
    # The other batch is due and comes first on the round.
    assert "Next one due: 26-0002" in shown
    typed = posted(**CHECK)
    shown = page(browser, browser.post(f"/batches/{OTHER}/checks/new", data=typed).location)
    assert re.search(rf'href="/batches/{OTHER}/pot-up">Pot up the rooted ones', shown)


def test_a_manager_reads_and_changes_nothing(sign_in: SignIn) -> None:
    pot_up(sign_in(Role.TRAINEE))
    browser = sign_in(Role.MANAGER)
    shown = page(browser, "/liner-lots/L-0001")
    assert ("What happened to it" in shown, "Correct" in shown) == (False, False)
    assert browser.get(f"/batches/{HEBE}/pot-up").status_code == 403


def test_checks_say_why_they_cannot_go_below(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    pot_up(browser)
    typed = posted(version="1", checked_on="-14", rooted="50", rooted_as="new", reason="miscounted")
    answer = browser.post("/checks/1/correct", data=typed)
    assert answer.status_code == 422
    assert any("60 were potted up" in one for one in problems_of(text_of(answer)))


def test_a_lot_is_moved_from_its_page(sign_in: SignIn, database: Database) -> None:
    with database.writing() as session:
        add_bench(session, "Cold frame", 2)
    browser = sign_in(Role.TRAINEE)
    pot_up(browser)
    assert "L-0001" in page(browser, "/benches/1")
    assert "L-0001" in page(browser, "/benches/house")
    move = posted(bench="2", moved_on="-1")
    assert browser.post("/liner-lots/L-0001/move", data=move).status_code == 303
    shown = page(browser, "/liner-lots/L-0001")
    assert "L-0001 is on Cold frame since" in shown
    assert "Where it stood" in shown
    assert "L-0001" in page(browser, "/benches/1/day?on=-3")
    assert "L-0001" not in page(browser, "/benches/1")
    (undo_move,) = re.findall(r'action="(/liner-lots/L-0001/move/undo[^"]+)"', shown)
    answer = browser.post(undo_move.replace("&amp;", "&"), data=posted())
    assert answer.status_code == 303
    assert "L-0001" in page(browser, "/benches/1")


def test_a_mix_lot_tells_what_was_potted_from_it(sign_in: SignIn, database: Database) -> None:
    with database.writing() as session:
        add_mix_lot(session, add_mix(session)[0])
    browser = sign_in(Role.TRAINEE)
    assert "M-0001, Perlite and bark" in page(browser, f"/batches/{HEBE}/pot-up")
    pot_up(browser, mix_lot="1", litres="24")
    shown = page(browser, "/mix-lots/M-0001")
    assert "Potted up from it" in shown
    assert "24 litres of it used altogether" in shown
