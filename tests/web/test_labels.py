"""The pages of labels, their files, and the way from a code to its record."""

from collections.abc import Callable
from urllib.parse import quote

import pytest
from flask.testing import FlaskClient

from app.domain.mix_lots import MixLotEntry
from app.domain.people import Actor, Role
from app.services.batches import void_batch
from app.services.labels import set_label_address
from app.services.mix_lots import make_mix_lot
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.formats.label_pages import pictures, scanned
from tests.services.batch_records import add_bench, add_mix, add_plant, add_stock_plant
from tests.services.check_records import day, stick

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture
def browser(sign_in: SignIn, database: Database, head: Actor) -> FlaskClient:
    with database.writing() as session:
        plant = add_plant(session)
        bench = add_bench(session, "Mist bench 2")
        stick(session, head, plant=plant, bench_id=bench, stuck_on=TODAY, trays=3)
        stick(session, head, plant=plant, bench_id=bench, stuck_on=day(10))
        twice = stick(session, head, plant=plant, bench_id=bench, stuck_on=TODAY)
        void_batch(
            session, actor=head, today=TODAY, now=NOW, batch_id=twice.id, reason="entered twice"
        )
        add_stock_plant(session, plant)
        lot = MixLotEntry(mix_version_id=add_mix(session)[0], made_on=TODAY)
        make_mix_lot(session, actor=head, today=TODAY, now=NOW, entry=lot)
        set_label_address(session, actor=head, now=NOW, version=1, address="http://shed:8321")
    return sign_in(Role.TRAINEE)


def codes(pdf: bytes) -> list[str]:
    return [each.text for page in pictures(pdf, dpi=150) for each in scanned(page, dpi=150)]


def test_the_first_page_is_that_of_batches(browser: FlaskClient) -> None:
    assert browser.get("/labels").location == "/labels/batches"
    page = browser.get("/labels/batches").text
    assert "<h1>Labels for batches</h1>" in page
    assert "http://shed:8321/to/" in page
    assert browser.get("/labels/potatoes").status_code == 404


def test_what_they_say_is_shown_before_printing(browser: FlaskClient) -> None:
    page = browser.get("/labels/batches?codes=26-1+26-2&per_tray=y").text
    assert "<h1>4 labels on 1 page</h1>" in page
    assert "stuck 25 Nov 2026 · 3 of 3" in page
    assert "<i>Hebe</i>" in page
    assert "http://shed:8321/to/26-0001" in page


def test_what_was_stuck_today_is_filled_in_without_void_batches(browser: FlaskClient) -> None:
    page = browser.get("/labels/batches?stuck=today&per_tray=y").text
    assert "<h1>3 labels on 1 page</h1>" in page
    assert "26-0003" not in page
    assert "/labels/batches?stuck=today" in browser.get("/").text


def test_the_file_holds_the_labels(browser: FlaskClient) -> None:
    answer = browser.get("/labels/batches/print.pdf?codes=26-1&per_tray=y&start=24")
    assert answer.mimetype == "application/pdf"
    assert "labels batches 2026-11-25.pdf" in answer.headers["Content-Disposition"]
    assert codes(answer.data) == ["http://shed:8321/to/26-0001"] * 3
    assert (
        answer.data == browser.get("/labels/batches/print.pdf?codes=26-1&per_tray=y&start=24").data
    )


@pytest.mark.parametrize(
    ("kind", "code", "ends"),
    [
        ("stock-plants", "S-31", "S-0031"),
        ("benches", "Mist bench 2", "B-0001"),
        ("mix-lots", "m1", "M-0001"),
    ],
)
def test_stock_plants_and_benches_get_labels_too(
    browser: FlaskClient, kind: str, code: str, ends: str
) -> None:
    answer = browser.get(f"/labels/{kind}/print.pdf?codes={quote(code)}&sheet=Roll,+62+x+29")
    assert codes(answer.data) == [f"http://shed:8321/to/{ends}"]


def test_own_measures_are_a_roll_or_a_sheet(browser: FlaskClient) -> None:
    own = "codes=26-1&sheet=own&label_w=50&label_h=30"
    assert codes(browser.get(f"/labels/batches/print.pdf?{own}").data)
    whole = f"{own}&page_w=210&page_h=297&across=4&down=9&left=5&top=10&gap_x=0&gap_y=1"
    page = browser.get(f"/labels/batches?{whole}").text
    assert "4 across and 9 down, each 50 x 30 mm" in page
    test = browser.get(f"/labels/batches/test-print.pdf?{whole}")
    assert test.mimetype == "application/pdf"


@pytest.mark.parametrize(
    ("asked", "field", "sentence"),
    [
        ("codes=26-0009", "codes", "Nothing to label is called 26-0009"),
        ("codes=26-0003", "codes", "Nothing to label is called 26-0003"),
        ("codes=Hebe", "codes", "is no code"),
        ("codes=26-1&each=0", "each", "from 1 to 3,000"),
        ("codes=26-1&each=2.5", "each", "whole number"),
        ("codes=26-1&start=25", "start", "from 1 to 24"),
        ("codes=26-1&sheet=A9", "sheet", "Give the name of a sheet"),
        ("codes=26-1&sheet=own", "label_w", "A label is at least"),
        ("codes=26-1&sheet=own&label_w=wide", "label_w", "Give a number"),
        ("codes=26-1&sheet=own&label_w=70&label_h=37&across=4&page_w=210&page_h=297", "label_w",
         "would need 280 mm"),
    ],
)  # fmt: skip
def test_what_is_wrong_stands_by_its_field_and_nothing_typed_is_lost(
    browser: FlaskClient, asked: str, field: str, sentence: str
) -> None:
    for address in ("/labels/batches", "/labels/batches/print.pdf"):
        answer = browser.get(f"{address}?{asked}")
        assert answer.status_code == 422
        assert f'id="{field}-error"' in answer.text
        assert sentence in answer.text
        assert "26-1" in answer.text or "codes=26-1" not in asked


def test_everything_wrong_is_told_at_once(browser: FlaskClient) -> None:
    wrong = "codes=26-0009&each=none&start=x&sheet=own&label_w=3&label_h=3"
    page = browser.get(f"/labels/batches?{wrong}").text
    for field in ("codes", "each", "start", "label_w"):
        assert f'id="{field}-error"' in page


def test_a_test_print_of_no_sheet_is_refused_by_its_field(browser: FlaskClient) -> None:
    answer = browser.get("/labels/batches/test-print.pdf?sheet=A9")
    assert answer.status_code == 422
    assert "Give the name of a sheet" in answer.text


def test_an_address_too_long_for_the_label_is_said_by_the_sheet(
    browser: FlaskClient, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        set_label_address(session, actor=head, now=NOW, version=2, address=f"http://{'a' * 50}")
    answer = browser.get("/labels/batches/print.pdf?codes=26-1&sheet=own&label_w=32&label_h=18")
    assert answer.status_code == 422
    assert "choose a larger label" in answer.text


def test_a_thousand_say_how_long_they_take(browser: FlaskClient) -> None:
    page = browser.get("/labels/batches?codes=26-1&each=1000").text
    assert "Drawing 1,000 labels takes about 5 seconds." in page
    assert "And 940 more." in page


@pytest.mark.parametrize(
    ("code", "place"),
    [
        ("26-0001", "/batches/26-0001"),
        ("S-0031", "/stock-plants/S-0031"),
        ("B-0001", "/benches/1"),
        ("M-0001", "/mix-lots/M-0001"),
        ("M-0777", "/search?q=M-0777"),
        ("26-0777", "/search?q=26-0777"),
        ("B-0777", "/search?q=B-0777"),
    ],
)
def test_a_code_leads_to_its_record(browser: FlaskClient, code: str, place: str) -> None:
    answer = browser.get(f"/to/{code}")
    assert (answer.status_code, answer.location) == (303, place)


def test_the_search_box_takes_the_code_of_a_bench(browser: FlaskClient) -> None:
    assert browser.get("/search?q=b-1").location == "/benches/1"
    assert "There is no bench B-0777" in browser.get("/search?q=B-0777").text


def test_signed_out_the_way_leads_through_the_sign_in_page(
    browser: FlaskClient, client: FlaskClient
) -> None:
    with client.session_transaction() as cookie:
        cookie.clear()
    answer = client.get("/to/26-0001")
    assert answer.status_code == 303
    assert answer.location == "/sign-in?next=/to/26-0001"


def test_the_head_sets_the_address(browser: FlaskClient, sign_in: SignIn) -> None:
    assert browser.get("/labels/address").status_code == 403
    head = sign_in(Role.HEAD)
    form = {"post_key": "address-on-labels-1", "version": "2", "address": "potting shed"}
    refused = head.post("/labels/address", data=form)
    assert refused.status_code == 422
    assert "Give the address as in a browser" in refused.text
    assert "potting shed" in refused.text
    saved = head.post("/labels/address", data=form | {"address": "http://10.0.0.7:8321"})
    assert saved.status_code == 303
    assert "http://10.0.0.7:8321/to/" in head.get("/labels/address").text


def test_without_a_set_address_it_is_the_one_the_page_is_open_at(
    sign_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    browser = sign_in(Role.TRAINEE)
    monkeypatch.setattr("app.web.label_reading.own_addresses", lambda: ("192.0.2.44",))
    page = browser.get("/labels/batches").text
    assert "http://192.0.2.44/to/" in page
    assert "answers on this PC only" in page


@pytest.mark.parametrize(
    ("address", "link"),
    [
        ("/batches/26-0001", "/labels/batches?codes=26-0001&amp;per_tray=y"),
        ("/batches", "/labels/batches?codes=26-0001+26-0002&amp;per_tray=y"),
        ("/stock-plants/S-0031", "/labels/stock-plants?codes=S-0031"),
        ("/benches/1", "/labels/benches?codes=Mist+bench+2"),
        ("/benches/1", "/labels/batches?codes=26-0001+26-0002&amp;per_tray=y"),
        ("/mix-lots/M-0001", "/labels/mix-lots?codes=M-0001"),
        ("/records", 'href="/labels/batches"'),
    ],
)
def test_the_pages_of_records_lead_to_their_labels(
    browser: FlaskClient, address: str, link: str
) -> None:
    assert link in browser.get(address).text
