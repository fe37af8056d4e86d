"""The pages of the mixes."""

from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from app.domain.batches import BatchEntry
from app.domain.people import Actor, Role
from app.services.batches import stick_batch
from app.store.queries.mixes import get_mix, list_mixes
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant

SignIn = Callable[[Role], FlaskClient]
FRAME = {
    "name": "Frame mix",
    "parts": "bark 3\nperlite 2\nloam 1",
    "shrinkage": "10",
    "version": "1",
}


@pytest.fixture
def mix_id(sign_in: SignIn, database: Database) -> int:
    answer = sign_in(Role.HEAD).post("/mixes/new", data=FRAME)
    assert answer.status_code == 303
    with database.reading() as session:
        return next(mix.id for mix in list_mixes(session) if mix.name == "Frame mix")


def test_an_empty_list_gives_the_first_step(sign_in: SignIn) -> None:
    page = sign_in(Role.HEAD).get("/mixes").text
    assert "No mix yet" in page
    assert "Add the first mix" in page


def test_a_mix_is_added_and_shown(client: FlaskClient, mix_id: int) -> None:
    page = client.get(f"/mixes/{mix_id}").text
    assert "Frame mix: 3 parts bark, 2 parts perlite and 1 part loam" in page
    assert "The mix Frame mix is saved." in page
    assert "Nothing has been stuck in this mix yet" in page
    assert "Legionella" in page
    assert "Frame mix" in client.get("/mixes").text


def test_what_was_stuck_in_it_is_shown(
    client: FlaskClient, mix_id: int, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        entry = BatchEntry(
            plant_name_id=add_plant(session),
            stuck_on=TODAY,
            stuck=96,
            mix_version_id=get_mix(session, mix_id=mix_id).newest.id,
        )
        stick_batch(session, actor=head, today=TODAY, now=NOW, entry=entry)
    page = client.get(f"/mixes/{mix_id}").text
    assert '<a class="label" href="/batches/26-0001">' in page
    assert "<i>Hebe</i> ‘Great Orme’" in page
    assert 'aria-label="96 unrooted"' in page
    assert "1 batch in it" in page


def test_litres_are_worked_out_with_the_shrinkage(client: FlaskClient, mix_id: int) -> None:
    # 600 L at 10 % shrinkage: 666.667 L going in, 333.333, 222.222 and 111.111 (exact arithmetic).
    page = client.get(f"/mixes/{mix_id}?litres=600").text
    for litres in ("333.3", "222.2", "111.1", "666.7"):
        assert f">{litres}<" in page
    assert "shrinks by 10 %" in page


def test_litres_that_are_none_are_refused_beside_the_field(
    client: FlaskClient, mix_id: int
) -> None:
    answer = client.get(f"/mixes/{mix_id}?litres=many")
    assert answer.status_code == 422
    assert 'id="litres-error"' in answer.text
    assert 'value="many"' in answer.text


def test_what_cannot_be_read_is_said_by_its_field_and_typed_text_stays(sign_in: SignIn) -> None:
    wrong = {"name": "Frame mix", "parts": "bark", "shrinkage": "80", "version": "1"}
    answer = sign_in(Role.HEAD).post("/mixes/new", data=wrong)
    assert answer.status_code == 422
    assert "<title>Error: A new mix" in answer.text
    assert answer.text.count("No number of parts in") == 2
    assert 'href="#shrinkage"' in answer.text
    assert ">\r\nbark</textarea>" in answer.text or ">bark</textarea>" in answer.text


def test_a_mix_is_changed(client: FlaskClient, mix_id: int, database: Database) -> None:
    page = client.get(f"/mixes/{mix_id}/edit").text
    assert "bark, 3\nperlite, 2\nloam, 1" in page
    assert 'value="10"' in page
    answer = client.post(
        f"/mixes/{mix_id}/edit",
        data=FRAME | {"parts": "equal parts bark and sand"},
    )
    assert answer.status_code == 303
    with database.reading() as session:
        assert get_mix(session, mix_id=mix_id).newest.words == "equal parts bark and sand"


def test_the_second_editor_chooses(client: FlaskClient, mix_id: int) -> None:
    client.post(f"/mixes/{mix_id}/edit", data=FRAME | {"parts": "sand 1"})
    answer = client.post(f"/mixes/{mix_id}/edit", data=FRAME | {"parts": "loam 1"})
    assert answer.status_code == 409
    assert "sand, 1" in answer.text
    assert "loam, 1" in answer.text


def test_a_mix_is_taken_out_of_use_and_put_back(client: FlaskClient, mix_id: int) -> None:
    answer = client.post(f"/mixes/{mix_id}/retire", data={"version": "1"}, follow_redirects=True)
    assert "Frame mix is out of use." in answer.text
    assert "Put back into use" in answer.text
    answer = client.post(f"/mixes/{mix_id}/restore", follow_redirects=True)
    assert "Frame mix is back in use." in answer.text


@pytest.mark.parametrize("role", [Role.TRAINEE, Role.MANAGER])
def test_others_read_and_do_not_change(sign_in: SignIn, mix_id: int, role: Role) -> None:
    client = sign_in(role)
    page = client.get(f"/mixes/{mix_id}").text
    assert "Change it" not in page
    for address in ("/mixes/new", f"/mixes/{mix_id}/edit"):
        assert client.get(address).status_code == 403
    assert client.post(f"/mixes/{mix_id}/retire").status_code == 403


def test_a_mix_that_is_not_there(sign_in: SignIn) -> None:
    assert sign_in(Role.TRAINEE).get("/mixes/99").status_code == 404
