"""The pages of stock plants, used without script."""

from collections.abc import Callable
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient

from app.domain.benches import BenchEntry
from app.domain.people import Actor, Role
from app.domain.stock_plants import StockPlantEntry
from app.services.batches import stick_batch
from app.services.benches import add_bench, close_bench
from app.services.stock_plants import add_stock_plant
from app.store.queries.stock_plants import get_stock_plant
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant, days_ago, entry, from_stock_plant

SignIn = Callable[[Role], FlaskClient]
FULL = {
    "plant": "Hebe 'Great Orme'",
    "plants": "12",
    "state": "on hold",
    "state_reason": "leaf spots",
    "origin": "bought in",
    "supplier": "Holm Nurseries",
    "supplier_reference": "lot 7",
    "came_on": "3/11",
    "rest_weeks": "6",
    "expected_per_plant": "7.5",
    "cut_back_on": "-2",
    "renew_by": "1 May 2029",
    "tested_until": "30 Jun 2027",
    "true_to_type_on": "today",
    "flowering": "no",
    "reentry_on": "26 Nov 2026",
    "reentry_time": "9:30",
    "notes": "north side",
}


def posted(**typed: str) -> dict[str, str]:
    return {"post_key": token_urlsafe(18), "version": "1", **typed}


def usual(**typed: str) -> dict[str, str]:
    return posted(**{"plant": "Hebe albicans", "plants": "1", "state": "fit to cut"} | typed)


def add(database: Database, number: int = 1) -> None:
    with database.writing() as session:
        told = StockPlantEntry(plant_name_id=add_plant(session))
        for _ in range(number):
            add_stock_plant(session, actor=None, today=TODAY, now=NOW, entry=told)


def test_a_stock_plant_is_added_as_typed(sign_in: SignIn, database: Database) -> None:
    with database.writing() as session:
        bench = add_bench(session, actor=None, now=NOW, entry=BenchEntry(name="Mother bed"))
    browser = sign_in(Role.HEAD)
    typed = posted(**FULL, bench=str(bench))
    page = browser.post("/stock-plants/new", data=typed, follow_redirects=True).text
    assert "S-0001 is saved: write this code on its label." in page
    for word in (
        "on hold: leaf spots", "Mother bed", "Holm Nurseries", "lot 7", "6 weeks between cuts",
        "7.5 cuttings from a plant", "Tue 1 May 2029", "Wed 30 June 2027", "09:30",
        "Do not work among these plants", "north side", "stock plant added",
    ):  # fmt: skip
        assert word.replace("June", "Jun") in page, word
    with database.reading() as session:
        known = get_stock_plant(session, code="S-0001")
    assert known.entry.flowering is False
    assert known.entry.reentry_at is not None
    assert known.entry.reentry_at.isoformat().startswith("2026-11-26T")
    page = browser.get("/stock-plants/S-0001/edit").text
    for value in ("26 Nov 2026", "09:30", "3 Nov 2026", "7.5", "leaf spots"):
        assert f'value="{value}"' in page


def test_everything_wrong_is_told_at_once(sign_in: SignIn) -> None:
    typed = posted(
        plant="'Hidcote'",
        plants="0",
        state="fit to cut",
        bench="77",
        raised_from="26-9999",
        came_on="tomorrow",
        rest_weeks="1.5",
        expected_per_plant="few",
        reentry_on="26 Nov",
        reentry_time="25:00",
    )
    answer = sign_in(Role.HEAD).post("/stock-plants/new", data=typed)
    assert answer.status_code == 422
    for field in (
        "plant", "plants", "bench", "raised_from", "came_on", "rest_weeks",
        "expected_per_plant", "reentry_time",
    ):  # fmt: skip
        assert f'id="{field}-error"' in answer.text, field
    assert 'value="26-9999"' in answer.text


def test_a_blank_number_of_plants_is_asked_for(sign_in: SignIn) -> None:
    answer = sign_in(Role.HEAD).post("/stock-plants/new", data=usual(plants=" "))
    assert answer.status_code == 422
    assert 'id="plants-error"' in answer.text


def test_a_time_needs_its_day(sign_in: SignIn) -> None:
    answer = sign_in(Role.HEAD).post("/stock-plants/new", data=usual(reentry_time="9:30"))
    assert 'id="reentry_on-error"' in answer.text


def test_a_doubtful_name_is_ticked_here_too(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.HEAD)
    asked = browser.post("/stock-plants/new", data=usual(plant="Hebe"))
    assert asked.status_code == 422
    assert "Yes, as typed: Hebe" in asked.text
    saved = browser.post("/stock-plants/new", data=usual(plant="Hebe", as_typed="Hebe"))
    assert saved.status_code == 303
    # A name in the log raises no question any more, nor does the code of a plant that bears it.
    for typed in ("hebe", "S-0001"):
        assert browser.post("/stock-plants/new", data=usual(plant=typed)).status_code == 303
    with database.reading() as session:
        assert get_stock_plant(session, code="S-0003").plant == "Hebe"


def test_one_just_added_is_taken_back(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    page = browser.post("/stock-plants/new", data=usual(), follow_redirects=True).text
    assert 'action="/stock-plants/S-0001/undo"' in page
    page = browser.post("/stock-plants/S-0001/undo", data=posted(), follow_redirects=True).text
    assert "taken back right after it was entered" in page
    assert "Keep it after all" in page
    page = browser.post("/stock-plants/S-0001/keep", data=posted(), follow_redirects=True).text
    assert "watched" in page


def test_one_is_discarded_with_day_and_reason(sign_in: SignIn, database: Database) -> None:
    add(database)
    browser = sign_in(Role.HEAD)
    assert browser.get("/stock-plants/S-0001/discard").status_code == 200
    typed = posted(discarded_on="today", reason="")
    refused = browser.post("/stock-plants/S-0001/discard", data=typed)
    assert 'id="reason-error"' in refused.text
    typed = posted(discarded_on="yesterday", reason="virus")
    page = browser.post("/stock-plants/S-0001/discard", data=typed, follow_redirects=True).text
    assert "discarded on" in page
    assert "virus" in page
    assert "S-0001" not in browser.get("/stock-plants").text.partition("<tbody>")[2]
    assert "S-0001" in browser.get("/stock-plants?state=discarded").text.partition("<tbody>")[2]


def test_what_was_taken_from_it_is_told_with_its_outcome(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    add(database)
    with database.writing() as session:
        known = get_stock_plant(session, code="S-0001")
        said = entry(
            known.entry.plant_name_id,
            stuck_on=days_ago(9),
            sources=(from_stock_plant(known.id, 60),),
        )
        code = stick_batch(session, actor=head, today=TODAY, now=NOW, entry=said).code
    page = sign_in(Role.TRAINEE).get("/stock-plants/S-0001").text
    assert f'href="/batches/{code}"' in page
    assert "60 cuttings" in page
    assert "60 from here, 96 stuck" in page
    assert "96 unrooted" in page


def test_a_correction_is_told_to_the_second_editor(sign_in: SignIn, database: Database) -> None:
    add(database)
    browser = sign_in(Role.HEAD)
    typed = usual(plant="Hebe 'Great Orme'", rest_weeks="4")
    page = browser.post("/stock-plants/s1/edit", data=typed, follow_redirects=True).text
    assert "<del>blank</del> to <ins>4</ins>" in page
    stale = browser.post("/stock-plants/S-0001/edit", data=usual(rest_weeks="9"))
    assert stale.status_code == 409
    assert "Hebe albicans" in stale.text


def test_a_closed_bench_is_offered_only_to_whom_stands_there(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        bench = add_bench(session, actor=head, now=NOW, entry=BenchEntry(name="Old frame"))
        close_bench(session, actor=head, now=NOW, bench_id=bench)
    assert "Old frame" not in sign_in(Role.HEAD).get("/stock-plants/new").text


def test_the_list_is_searched_and_turned(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.MANAGER)
    assert "No stock plant yet" in browser.get("/stock-plants").text
    add(database, 51)
    page = browser.get("/stock-plants").text
    assert "S-0001 to S-0050" in page
    later = page.partition('rel="next" href="')[2].partition('"')[0].replace("&amp;", "&")
    assert "S-0051 to S-0051" in browser.get(later).text
    assert "S-0007 to" not in browser.get("/stock-plants?find=s7").text
    assert "S-0007" in browser.get("/stock-plants?find=s7").text
    assert "No stock plant is like that" in browser.get("/stock-plants?find=rosa").text
    assert "Add a stock plant" not in page


@pytest.mark.parametrize("address", ["/stock-plants/S-0099", "/stock-plants/nonsense"])
def test_what_is_not_there_is_said(sign_in: SignIn, address: str) -> None:
    assert sign_in(Role.HEAD).get(address).status_code == 404
