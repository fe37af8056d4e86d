"""Walking a bench, without script."""

from collections.abc import Callable
from datetime import timedelta
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.store.queries.checks import list_checks
from app.store.session import Database
from tests.conftest import TODAY
from tests.services.batch_records import add_bench, add_plant
from tests.services.check_records import stick

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture(autouse=True)
def bench(database: Database, head: Actor) -> None:
    with database.writing() as session:
        plant = add_plant(session)
        bench_id = add_bench(session)
        for _ in range(3):
            stick(session, head, plant=plant, bench_id=bench_id)


def posted(**typed: str | list[str]) -> dict[str, str | list[str]]:
    return {"post_key": token_urlsafe(18), "walked_on": "today"} | typed


def looks(database: Database) -> list[int]:
    """Return how many looks stand for each of the three batches."""
    with database.reading() as session:
        checks = [list_checks(session, batch_id=batch_id) for batch_id in (1, 2, 3)]
    return [sum(not check.counts.withdrawn for check in batch) for batch in checks]


def test_today_leads_to_the_walk(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    assert 'href="/benches/1/walk">Walked it, all well except' in browser.get("/").get_data(
        as_text=True
    )
    page = browser.get("/benches/1/walk").get_data(as_text=True)
    assert "Walked Mist bench 2: all well except" in page
    assert page.count('type="checkbox" name="excepted"') == 3
    assert "96 unrooted, never looked at" in page


def test_all_but_those_ticked_get_a_look_and_it_can_be_undone(
    sign_in: SignIn, database: Database
) -> None:
    browser = sign_in(Role.TRAINEE)
    typed = posted(excepted=["2"])
    for _ in range(2):
        assert browser.post("/benches/1/walk", data=typed).status_code == 303
    assert looks(database) == [1, 0, 1]
    page = browser.get("/").get_data(as_text=True)
    assert "Mist bench 2 walked: a look logged for 2 batches." in page
    undo = page[page.index('action="/walks/') :].split('"')[1]
    other = sign_in(Role.HEAD)
    key = {"post_key": token_urlsafe(18)}
    assert other.post(undo, data=key).status_code == 403
    browser = sign_in(Role.TRAINEE)
    assert browser.post(undo, data={"post_key": token_urlsafe(18)}).status_code == 303
    assert looks(database) == [0, 0, 0]


def test_a_refused_walk_keeps_its_ticks(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.TRAINEE)
    answer = browser.post("/benches/1/walk", data=posted(excepted=["2"], walked_on="2030-01-01"))
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert 'value="2" checked' in page
    assert 'value="2030-01-01"' in page
    everything = browser.post("/benches/1/walk", data=posted(excepted=["1", "2", "3"]))
    assert everything.status_code == 422
    assert "nothing was logged" in everything.get_data(as_text=True)
    assert looks(database) == [0, 0, 0]


def test_an_empty_bench_and_none_at_all(sign_in: SignIn, database: Database) -> None:
    with database.writing() as session:
        add_bench(session, "Empty frame")
    browser = sign_in(Role.TRAINEE)
    page = browser.get("/benches/2/walk").get_data(as_text=True)
    assert "No open batch stands on Empty frame now." in page
    assert browser.get("/benches/9/walk").status_code == 404
    assert sign_in(Role.MANAGER).get("/benches/1/walk").status_code == 403


def test_the_round_says_what_to_mind_at_each_genus_and_at_the_bench(sign_in: SignIn) -> None:
    page = sign_in(Role.TRAINEE).get("/benches/1/walk").get_data(as_text=True)
    assert "Electricity by mist and heated benches" in page
    assert "no caution recorded" in page
    assert "Follow the product label, local rules and licensed practice." in page


def test_a_walk_that_waited_is_of_the_day_it_was_made(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.TRAINEE)
    headers = {"Strikewell-Person": "key-of-trainee", "Strikewell-Waited": str(20 * 3600)}
    answer = browser.post("/benches/1/walk", data=posted(), headers=headers)
    assert answer.get_json()["outcome"] == "saved"
    with database.reading() as session:
        (look,) = list_checks(session, batch_id=3)
    assert look.counts.checked_on == TODAY - timedelta(days=1)
    told = "recorded Tue 24 Nov, 13:00 on a device, received Wed 25 Nov, 09:00"
    assert told in browser.get("/batches/26-0003").get_data(as_text=True)
