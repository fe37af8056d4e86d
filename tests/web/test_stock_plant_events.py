"""The pages of what happens to stock plants, used without script."""

from collections.abc import Callable
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.domain.stock_plants import StockPlantEntry
from app.services.batches import stick_batch
from app.services.stock_plants import add_stock_plant
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant, days_ago, entry, from_stock_plant

SignIn = Callable[[Role], FlaskClient]
PLANT = "/stock-plants/S-0001"


@pytest.fixture(autouse=True)
def plant(database: Database) -> int:
    with database.writing() as session:
        told = StockPlantEntry(
            plant_name_id=add_plant(session), plants=4, expected_per_plant=9.0, came_on=days_ago(60)
        )
        return add_stock_plant(session, actor=None, today=TODAY, now=NOW, entry=told).id


def posted(**typed: str) -> dict[str, str]:
    return {"post_key": token_urlsafe(18), **typed}


def test_an_inspection_is_written_down_seen_on_today_and_withdrawn(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    page = browser.get(f"{PLANT}/events/new/inspected").text
    assert "something to watch" in page
    typed = posted(
        result="in doubt", finding="pale tips", happened_on="-7", until_on="tomorrow", by="1"
    )
    page = browser.post(f"{PLANT}/events/new/inspected", data=typed, follow_redirects=True).text
    assert "watched: inspected on Wed 18 November 2026: pale tips" in page
    assert "inspected, something to watch: pale tips" in page
    today = browser.get("/").text
    assert "<b>due tomorrow</b>" in today
    assert f'href="{PLANT}/events/new/inspected"' in today
    # The next one is filled in with as long until the look after it.
    assert 'value="3 Dec 2026"' in browser.get(f"{PLANT}/events/new/inspected").text
    page = browser.get(f"{PLANT}/events/2/withdraw").text
    assert "pale tips" in page
    page = browser.post(
        f"{PLANT}/events/2/withdraw", data=posted(reason="other row"), follow_redirects=True
    ).text
    assert "withdrawn by Ines Farrow: other row" in page
    assert "4 plants, fit to cut." in page
    assert "Stock plants to see to" not in browser.get("/").text


def test_a_count_changes_the_number_and_can_be_undone(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    typed = posted(plants="3", happened_on="today", note="one dried out")
    page = browser.post(f"{PLANT}/events/new/counted", data=typed, follow_redirects=True).text
    assert "3 plants, fit to cut" in page
    assert "one dried out" in page
    assert f"{PLANT}/events/2/undo" in page
    page = browser.post(f"{PLANT}/events/2/undo", data=posted(), follow_redirects=True).text
    assert "4 plants, fit to cut" in page


def test_what_is_wrong_is_said_by_its_field(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    for kind, typed, said in (
        ("inspected", {"happened_on": "soon", "until_on": "x"}, "result"),
        ("inspected", {"happened_on": "today"}, "Choose what came of it"),
        ("inspected", {"result": "bad", "happened_on": "today"}, "Say what was found"),
        ("tested", {"result": "odd", "happened_on": "today"}, "Choose one from the list"),
        ("counted", {"plants": "", "happened_on": "today"}, "Give the number of plants"),
        ("counted", {"plants": "2", "happened_on": "today", "by": "77"}, "Choose one"),
        ("cut-back", {"happened_on": "-90"}, "It came on Sat 26 September 2026"),
    ):
        answer = browser.post(f"{PLANT}/events/new/{kind}", data=posted(**typed))
        assert answer.status_code == 422
        assert said in answer.text
    assert browser.get(f"{PLANT}/events/new/nonsense").status_code == 404
    assert browser.get(f"{PLANT}/events/77/withdraw").status_code == 404


def test_each_person_is_offered_what_is_theirs_to_write(sign_in: SignIn) -> None:
    assert "events/new/tested" in sign_in(Role.HEAD).get(PLANT).text
    trainee = sign_in(Role.TRAINEE).get(PLANT).text
    assert "events/new/inspected" in trainee
    assert "events/new/tested" not in trainee
    answer = sign_in(Role.TRAINEE).post(
        f"{PLANT}/events/new/renewed", data=posted(happened_on="today")
    )
    assert answer.status_code == 403
    assert "events/new" not in sign_in(Role.MANAGER).get(PLANT).text


def test_what_each_cut_gave_stands_beside_what_was_expected(
    sign_in: SignIn, database: Database, head: Actor, plant: int
) -> None:
    with database.writing() as session:
        for ago, number in ((30, 40), (2, 20)):
            said = entry(
                1,
                stuck_on=days_ago(ago),
                stuck=number,
                taken=number,
                sources=(from_stock_plant(plant, number),),
            )
            stick_batch(session, actor=head, today=TODAY, now=NOW, entry=said)
    browser = sign_in(Role.HEAD)
    typed = posted(plants="5", happened_on="-10")
    page = browser.post(f"{PLANT}/events/new/counted", data=typed, follow_redirects=True).text
    assert "gave 4 to 10 cuttings from a plant, 7 on the average; 9 are expected." in page
    cells = [cell.partition("<")[0] for cell in page.split('<td class="number">')[1:]]
    assert cells == ["5", "20", "4.0", "9", "4", "40", "10.0", "9"]


def test_lists_of_a_state_say_the_reason(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    typed = posted(result="bad", about="a rot", happened_on="today", until_on="")
    browser.post(f"{PLANT}/events/new/tested", data=typed)
    page = browser.get("/stock-plants?state=on+hold").text
    assert "on hold: a rot found in the test of Wed 25 November 2026" in page
    assert "S-0001" not in browser.get("/stock-plants?state=fit+to+cut").text
