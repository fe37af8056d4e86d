"""The pages of mix lots, used without script."""

from collections.abc import Callable
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient

from app.domain.mixes import MixEntry, MixPart
from app.domain.people import Role
from app.services.mixes import add_mix
from app.store.queries.mix_lots import get_mix_lot
from app.store.session import Database
from tests.conftest import NOW
from tests.services.batch_records import add_container, add_plant

SignIn = Callable[[Role], FlaskClient]
LOT = {
    "version": "1",
    "made_on": "today",
    "made_by": "2",
    "asked_l": "600",
    "ingredients-0-ingredient": "bark",
    "ingredients-0-supplier_lot": "K 22",
    "ingredients-0-amount": "8 bags of 50",
    "ingredients-1-ingredient": "perlite",
    "ingredients-1-supplier_lot": "",
    "ingredients-1-amount": "200",
    "litres": "540",
    "extraction": "1 : 5 by volume",
    "medium_ec": "0.6",
    "medium_ph": "5.6",
    "water_ec": "0,4",
    "water_ph": "7.1",
    "container": "9 cm pot",
    "container_ml": "380",
    "saturation_ml": "266",
    "drained_ml": "57",
    "notes": "mixed on the clean floor",
}


@pytest.fixture(autouse=True)
def records(database: Database) -> None:
    with database.writing() as session:
        add_plant(session)
        add_container(session, volume_ml=55.0)
        parts = (MixPart(ingredient="bark", parts=2), MixPart(ingredient="perlite", parts=1))
        entry = MixEntry(name="Frame mix", parts=parts)
        add_mix(session, actor=None, now=NOW, entry=entry)


def posted(**typed: str) -> dict[str, str]:
    return {"post_key": token_urlsafe(18), **typed}


def text(browser: FlaskClient, address: str) -> str:
    return browser.get(address).get_data(as_text=True)


def make(browser: FlaskClient, **changes: str) -> None:
    answer = browser.post("/mix-lots/new?mix=1", data=posted(**LOT | changes))
    assert answer.status_code == 303, answer.get_data(as_text=True)


def test_a_lot_is_made_up_as_typed(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.TRAINEE)
    assert "of which mix?" in text(browser, "/mix-lots/new")
    form = text(browser, "/mix-lots/new?mix=1&litres=600")
    assert 'value="400"' in form
    assert 'value="200"' in form
    assert "Legionella" in form
    make(browser)
    with database.reading() as session:
        entry = get_mix_lot(session, code="M-0001").entry
    assert (entry.litres, entry.put_in_l, entry.water_ec, entry.made_by_id) == (540, 600, 0.4, 2)
    page = text(browser, "/mix-lots/M-0001")
    for words in (
        "540 litres left", "8 bags of 50", "K 22", "10 %", "EC 0.6 mS/cm", "1 : 5 by volume",
        "70 % of the container (9 cm pot): air 15 %, water 55 %",
    ):  # fmt: skip
        assert words in page, words
    assert "M-0001" in text(browser, "/mix-lots")
    recipe = text(browser, "/mixes/1?litres=540")
    assert "It shrank by 10 % on mixing, measured on 1 lot" in recipe
    assert "600" in recipe


def test_a_batch_names_it_and_its_litres_are_put_right(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    make(browser)
    form = text(browser, "/batches/new")
    assert '<option value="M-0001">Frame mix, made up' in form
    batch = {
        "plant": "Hebe 'Great Orme'", "stuck": "2 trays of 84", "container": "1", "mix_lot": "m1",
        "stuck_on": "today",
    }  # fmt: skip
    assert browser.post("/batches/new", data=posted(**batch)).status_code == 303
    page = text(browser, "/mix-lots/M-0001")
    assert "9.2 <small>by its containers" in page
    assert "530.8 litres left" in page
    refused = browser.post("/mix-lots/M-0001/used/26-0001", data=posted(litres="lots"))
    assert refused.status_code == 422
    assert 'value="lots"' in refused.get_data(as_text=True)
    answer = browser.post("/mix-lots/M-0001/used/26-0001", data=posted(litres="12"))
    assert answer.status_code == 303
    assert "528 litres left" in text(browser, "/mix-lots/M-0001")
    assert "Frame mix" in text(browser, "/batches/26-0001")
    assert browser.get("/mix-lots/M-0001/used/26-9999").status_code == 404


def test_a_refusal_keeps_what_was_typed(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    wrong = LOT | {"ingredients-1-amount": "some", "extraction": "", "drained_ml": "300"}
    answer = browser.post("/mix-lots/new?mix=1", data=posted(**wrong))
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "Give a number in l" in page
    assert 'value="some"' in page
    assert 'value="8 bags of 50"' in page
    wrong["ingredients-1-amount"] = "200"
    page = browser.post("/mix-lots/new?mix=1", data=posted(**wrong)).get_data(as_text=True)
    assert "Say how it was extracted" in page
    assert "No more can drain than went in" in page


def test_one_more_line_keeps_what_was_typed(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    typed = posted(**LOT, look_again="lines")
    page = browser.post("/mix-lots/new?mix=1", data=typed).get_data(as_text=True)
    assert "ingredients-2-ingredient" in page
    assert 'value="K 22"' in page


def test_it_is_corrected_emptied_and_taken_back(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    make(browser)
    form = text(browser, "/mix-lots/M-0001/edit")
    assert 'value="8 bags of 50"' in form
    answer = browser.post("/mix-lots/M-0001/edit", data=posted(**LOT | {"litres": "500"}))
    assert answer.status_code == 303
    assert "500 litres left" in text(browser, "/mix-lots/M-0001")
    stale = browser.post("/mix-lots/M-0001/edit", data=posted(**LOT | {"litres": "400"}))
    assert stale.status_code == 409
    assert browser.post("/mix-lots/M-0001/empty", data=posted()).status_code == 303
    assert "Something is left after all" in text(browser, "/mix-lots/M-0001")
    assert browser.post("/mix-lots/M-0001/reopen", data=posted()).status_code == 303
    assert browser.post("/mix-lots/M-0001/undo", data=posted()).status_code == 303
    assert "taken back right after it was entered" in text(browser, "/mix-lots/M-0001")
    assert "void" in text(browser, "/mix-lots")


def test_unusual_figures_are_remarked_on(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    make(browser, medium_ph="3.8", litres="620")
    page = text(browser, "/mix-lots/M-0001")
    assert "pH of the medium: 3.8 is unusual" in page
    assert "More came out than went in" in page
