"""Pieces, divisions and grafts on the pages, used without script."""

from collections.abc import Callable
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient

from app.domain.cutting_types import CuttingType
from app.domain.people import Actor, Role
from app.services.starting_data import load_starting_data
from app.store.session import Database
from tests.conftest import NOW
from tests.services.batch_records import add_bench, add_plant
from tests.services.check_records import check, lost, said, stick

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture(autouse=True)
def records(database: Database) -> None:
    with database.writing() as session:
        load_starting_data(session, now=NOW)
        add_plant(session)
        add_bench(session)


def posted(**typed: object) -> dict[str, object]:
    return {"post_key": token_urlsafe(18), **typed}


def stick_typed(browser: FlaskClient, **typed: object) -> str:
    said_of = {"plant": "Hebe 'Great Orme'", "stuck": "40", "stuck_on": "-20", "bench": "1"}
    answer = browser.post("/batches/new", data=posted(**said_of | typed))
    if answer.status_code == 303:
        return text(browser, "/batches/26-0001")
    return answer.get_data(as_text=True)


def text(browser: FlaskClient, address: str) -> str:
    return browser.get(address).get_data(as_text=True)


def count(browser: FlaskClient, **typed: object) -> str:
    form = posted(
        version="1", checked_on="-2", kind="counted", typed_as="new", ending="", checked_by="1"
    )
    answer = browser.post("/batches/26-0001/checks/new", data=form | typed)
    page = answer.get_data(as_text=True)
    return text(browser, "/batches/26-0001") if answer.status_code == 303 else page


def test_a_graft_is_entered_and_told_in_its_own_words(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    grafted = {
        "cutting_type": "graft",
        "graft_method": "whip and tongue",
        "rootstock": "Prunus avium 'Colt'",
        "rootstock_source": "Farrow, lot 3",
        "union_cm": "15",
    }
    page = stick_typed(browser, **grafted)
    assert "tick the box below it" in page
    assert 'id="new_rootstock"' in page
    page = stick_typed(browser, **grafted, new_rootstock="y")
    said_of = page.replace("&#39;", "'")
    assert "Whip and tongue, on Prunus avium 'Colt' (Farrow, lot 3), union at 15 cm." in said_of
    assert "Grafted on" in page
    assert "40 not taken yet" in page
    assert ">unrooted<" not in page
    assert "takes to root" not in page
    page = count(browser, rooted="30")
    assert "30 newly taken" in page
    assert "10 grafts left not taken yet" in page
    form = text(browser, "/batches/26-0001/checks/new")
    assert ">Taken</label>" in form
    assert "Callused" not in form
    edit = text(browser, "/batches/26-0001/edit").replace("&#39;", "'")
    assert "value=\"Prunus avium 'Colt'\"" in edit
    assert 'value="15"' in edit


def test_what_is_refused_at_a_check_is_told_in_its_words(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    stick_typed(browser, cutting_type="division")
    page = count(browser, rooted="50")
    assert "leave 40 of 40 not settled; with 50 newly found alive" in page
    page = count(browser, rooted="2", plantlets="3")
    assert "Plantlets are counted of leaf, root and scale pieces only" in page


def test_a_field_of_another_type_is_refused_with_what_was_typed(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    page = stick_typed(browser, cutting_type="softwood", way_up="flat", union_cm="15")
    assert "This is for leaf, root and scale cuttings" in page
    assert "This is for grafts" in page
    assert 'value="15"' in page
    assert "Error: " in page


def test_root_cuttings_tell_which_way_up_and_their_plantlets(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    page = stick_typed(browser, cutting_type="root", way_up="right way up")
    assert "40 root cuttings" in page
    assert "Right way up." in page
    assert 'name="plantlets"' in text(browser, "/batches/26-0001/checks/new")
    page = count(browser, rooted="20", plantlets="62")
    assert "62 plantlets, 3.1 to each piece that struck" in page
    assert "they are in no rate" in page
    assert "20 newly rooted, 62 plantlets" in page
    assert "<dt>Plantlets</dt>" in text(browser, "/checks/1")
    assert 'name="plantlets" type="text" value="62"' in text(browser, "/checks/1/correct")


def test_rates_leave_them_out_and_say_so(sign_in: SignIn, database: Database, head: Actor) -> None:
    browser = sign_in(Role.HEAD)
    with database.writing() as session:
        for kind, rooted in ((CuttingType.SOFTWOOD, 40), (CuttingType.GRAFT, 90)):
            plant = add_plant(session, f"Rosa {kind}")
            batch = stick(session, head, plant=plant, cutting_type=kind)
            check(session, head, batch, said(9, rooted=rooted, lost=lost(96 - rooted)))
    page = text(browser, "/strike-rates?by=cutting_type")
    assert "1 batch of divisions or grafts left out" in page
    assert "Of 96 stuck 40 rooted" in page
    page = text(browser, "/strike-rates?by=genus&cutting_type=graft")
    assert "Of 96 grafted 90 taken" in page
    assert "Take by genus" in page
    assert "taken over from cuttings" in page
    page = text(browser, "/strike-rates?by=genus&cutting_type=graft&cutting_type=softwood")
    assert "counted together with the others, as asked for" in page
    assert "90 taken" in text(browser, "/batches")
