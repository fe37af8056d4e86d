"""The list of batches and a batch's page as somebody reads them without script."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from flask.testing import FlaskClient

from app.clock import FixedClock
from app.domain.check_entries import CheckEntry
from app.domain.people import Actor, Role
from app.services.checks import record_check
from app.store.models.batches import Batch
from app.store.queries.batches import get_batch
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.batch_records import keep
from tests.web.batch_pages import posted, set_up_nursery, six, stick, story, text_of

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture(autouse=True)
def _nursery(database: Database) -> None:
    set_up_nursery(database)


@pytest.fixture
def browser(sign_in: SignIn) -> FlaskClient:
    return sign_in(Role.TRAINEE)


def test_saving_can_be_undone_and_that_too(browser: FlaskClient, database: Database) -> None:
    page = text_of(browser.get(stick(browser)))
    assert 'action="/batches/26-0001/undo"' in page
    answer = browser.post("/batches/26-0001/undo", data=posted(), follow_redirects=True)
    assert "26-0001 is void" in text_of(answer)
    assert story(database).void is not None
    browser.post("/batches/26-0001/reinstate", data=posted())
    assert story(database).void is None


def test_somebody_elses_batch_is_not_undone_by_a_trainee(
    sign_in: SignIn, database: Database
) -> None:
    stick(sign_in(Role.HEAD))
    browser = sign_in(Role.TRAINEE)
    assert browser.post("/batches/26-0001/undo", data=posted()).status_code == 403
    assert browser.get("/batches/26-0001/edit").status_code == 403
    assert "Correct this batch" not in text_of(browser.get("/batches/26-0001"))
    assert story(database).void is None


def test_a_manager_reads_but_does_not_stick(sign_in: SignIn) -> None:
    stick(sign_in(Role.HEAD))
    browser = sign_in(Role.MANAGER)
    assert browser.get("/batches").status_code == 200
    page = text_of(browser.get("/batches/26-0001"))
    assert "Stick another" not in page
    assert "Check this batch" not in page
    assert browser.get("/batches/new").status_code == 403


def test_deviations_stand_on_the_saved_page_and_are_no_refusals(browser: FlaskClient) -> None:
    page = text_of(browser.get(stick(browser, cutting_type="softwood", length_cm="12")))
    assert "12 cm: softwood cuttings are usually 5 to 10 cm;" in page
    assert "common practice, no source" in page
    again = browser.post(
        "/batches/new", data=six(cutting_type="softwood", length_cm="12", again="yes")
    )
    assert "12 cm: softwood cuttings are usually 5 to 10 cm;" in (
        text_of(browser.get(again.location))
    )


def test_a_slip_in_the_year_is_asked_about_on_the_day_it_was_typed(
    browser: FlaskClient, clock: FixedClock, sign_in: SignIn
) -> None:
    address = stick(browser, stuck_on="2 Mar 2026")
    assert "is the year right?" in text_of(browser.get(address))
    clock.instant += timedelta(days=1)
    assert "is the year right?" not in text_of(sign_in(Role.HEAD).get(address))


def test_a_soak_at_dip_strength_is_warned_of_urgently(browser: FlaskClient) -> None:
    page = text_of(browser.get(stick(browser, hormone="IBA soak 3000 ppm")))
    assert "<b>3,000 ppm is the strength of a dip, not of a soak" in page


def test_cautions_never_read_as_safe(browser: FlaskClient) -> None:
    page = text_of(browser.get(stick(browser)))
    assert "<strong>Hebe:</strong> no caution recorded." in page
    form = text_of(browser.get("/batches/new"))
    assert "Gloves, no dust, no eating" in form
    for each in (page, form):
        assert "Follow the product label, local rules and licensed practice." in each
        assert "safe" not in each.lower()


def test_voiding_asks_for_a_reason(browser: FlaskClient, database: Database) -> None:
    stick(browser)
    answer = browser.post("/batches/26-0001/void", data=posted(reason=" "))
    assert answer.status_code == 422
    assert "Say why the batch is to be void" in text_of(answer)
    page = browser.post(
        "/batches/26-0001/void", data=posted(reason="typed twice"), follow_redirects=True
    )
    assert "typed twice" in text_of(page)
    assert story(database).void is not None
    assert "26-0001" not in text_of(browser.get("/batches"))
    assert "26-0001" in text_of(browser.get("/batches?state=void"))


def test_a_batch_reads_as_its_story(sign_in: SignIn, database: Database, head: Actor) -> None:
    browser = sign_in(Role.HEAD)
    stick(browser, stuck_on="-30", plant="S-0031", cover="mist")
    with database.writing() as session:
        batch_id = get_batch(session, code="26-0001").id
        record_check(
            session, actor=head, today=TODAY, now=NOW, batch_id=batch_id,
            entry=CheckEntry(checked_on=TODAY, rooted=38),
        )  # fmt: skip
        keep(session, Batch(
            year=2026, number=2, code="26-0002", plant_name_id=1, stuck_on=TODAY, stuck=5,
            restuck_from_id=batch_id, made_at=NOW,
        ))  # fmt: skip
    page = text_of(browser.get("/batches/26-1"))
    assert "<h1>" in page
    assert "‘Great Orme’" in page
    assert "96 semi-ripe cuttings; IBA talc 1000 ppm." in page
    assert "day 30: 38 rooted, 58 unrooted, 0 lost" in page
    assert "Of 96 stuck 38 rooted, 58 unrooted: at worst 40 %, at best 100 %" in page or (
        "Of 96 stuck 38 rooted, 58 unrooted: at worst 40 %, at best all of them." in page
    )
    assert "38 newly rooted" in page
    assert "/stock-plants/S-0031" in page
    assert "/batches/26-0002" in page
    assert "batch stuck" in page


def test_there_is_no_such_batch(browser: FlaskClient) -> None:
    answer = browser.get("/batches/26-0099")
    assert answer.status_code == 404
    assert "There is no batch 26-0099" in text_of(answer)


def test_an_empty_list_gives_the_first_step(browser: FlaskClient) -> None:
    page = text_of(browser.get("/batches"))
    assert "No batch yet." in page
    assert "Stick the first batch" in page


def test_the_list_is_filtered_and_turned_page_by_page(browser: FlaskClient) -> None:
    stick(browser, cutting_type="softwood")
    for _ in range(51):
        stick(browser)
    first = text_of(browser.get("/batches?genus=Hebe"))
    assert first.count('class="row"') == 50
    older = re.search(r'rel="next" href="([^"]*)"', first)
    assert older is not None
    second = text_of(browser.get(older[1].replace("&amp;", "&")))
    assert second.count('class="row"') == 2
    assert "genus Hebe" in second
    assert 'rel="prev"' in second
    only = text_of(browser.get("/batches?cutting_type=softwood"))
    assert only.count('class="row"') == 1
    assert "No batch answers to this" in text_of(browser.get("/batches?text=cistus"))


@pytest.mark.parametrize(
    "query",
    ["genus=Hebee", "since=soon", "state=odd", "month=13", "since=2026-02-01&until=2026-01-01"],
)
def test_a_filter_that_cannot_be_is_said(browser: FlaskClient, query: str) -> None:
    stick(browser)
    answer = browser.get(f"/batches?{query}")
    assert answer.status_code == 422
    assert "Please look at this again" in text_of(answer)


def test_odd_keys_in_the_address_do_no_harm(browser: FlaskClient) -> None:
    stick(browser)
    for query in ("older=x", "newer=2026-01-01_99999999999999999999999", "_external=1&_scheme=x"):
        assert browser.get(f"/batches?{query}").status_code == 200


def test_a_trainee_does_not_list_by_somebody_else(browser: FlaskClient) -> None:
    stick(browser)
    assert browser.get("/batches?person=Ines Farrow").status_code == 422
    assert browser.get("/batches?person=Tomas Quill").status_code == 200
