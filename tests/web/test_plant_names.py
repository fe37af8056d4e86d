"""The pages of plant names, genera and their suggestions, used without script."""

from collections.abc import Callable
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient
from sqlalchemy import text

from app.domain.people import Role
from app.domain.plant_names import parse_plant_name
from app.services.plant_names import keep_plant_name
from app.store.session import Database
from tests.conftest import NOW

SignIn = Callable[[Role], FlaskClient]


def posted(**typed: str) -> dict[str, str]:
    return {"post_key": token_urlsafe(18), "version": "1", **typed}


def keep(database: Database, *names: str) -> list[int]:
    with database.writing() as session:
        return [
            keep_plant_name(session, actor=None, now=NOW, name=parse_plant_name(name).name)
            for name in names
        ]


def test_a_name_is_typed_in_one_box_and_shown_in_its_parts(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    typed = posted(
        plant="lavandula x intermedia ‘grosso’",
        family="Lamiaceae",
        rights_licence="L-7",
        rights_until="1 May 2030",
    )
    page = browser.post("/plant-names/new", data=typed, follow_redirects=True).text
    assert "Lavandula × intermedia &#39;Grosso&#39; is saved." in page
    assert "<i>Lavandula</i> × <i>intermedia</i> ‘Grosso’" in page
    for part in ("<dd>between species</dd>", "<dd>intermedia</dd>", "<dd>Grosso</dd>"):
        assert part in page
    assert "<dd>Lamiaceae</dd>" in page
    assert "Wed 1 May 2030" in page
    assert "plant name added" in page


def test_a_warning_asks_for_a_tick_bound_to_the_name(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.HEAD)
    first = browser.post("/plant-names/new", data=posted(plant="Lavandula angustifolia Hidcote"))
    assert first.status_code == 422
    assert "Is Hidcote a cultivar?" in first.text
    assert 'value="Lavandula angustifolia Hidcote"> <label' in first.text
    assert "not told apart <b>Hidcote</b>" in first.text
    # The tick does not carry over to a name typed over it.
    ticked = {"as_typed": "Lavandula angustifolia Hidcote"}
    other = browser.post("/plant-names/new", data=posted(plant="Lavandula Munstead", **ticked))
    assert other.status_code == 422
    again = posted(plant="Lavandula angustifolia Hidcote", **ticked)
    saved = browser.post("/plant-names/new", data=again)
    assert saved.status_code == 303
    with database.reading() as session:
        assert session.scalar(text("SELECT plain FROM plant_names")) == (
            "Lavandula angustifolia Hidcote"
        )


def test_a_tick_stays_while_something_else_is_wrong(sign_in: SignIn) -> None:
    typed = posted(plant="Lavandula sp.", as_typed="Lavandula sp.", family="mint")
    page = sign_in(Role.HEAD).post("/plant-names/new", data=typed)
    assert page.status_code == 422
    assert 'value="Lavandula sp." checked' in page.text


@pytest.mark.parametrize("plant", ["<script>alert(1)</script>", "'Hidcote'", ""])
def test_what_is_no_name_is_refused_and_escaped(sign_in: SignIn, plant: str) -> None:
    answer = sign_in(Role.HEAD).post("/plant-names/new", data=posted(plant=plant))
    assert answer.status_code == 422
    assert "<script>alert" not in answer.text
    assert 'id="plant-error"' in answer.text


def test_a_name_is_corrected_and_its_history_kept(sign_in: SignIn, database: Database) -> None:
    (hebe,) = keep(database, "Hebe 'Great Orm'")
    browser = sign_in(Role.HEAD)
    page = browser.get(f"/plant-names/{hebe}/edit").text
    assert 'value="Hebe &#39;Great Orm&#39;"' in page
    typed = posted(plant="Hebe 'Great Orme'", common_name="Shrubby veronica")
    page = browser.post(f"/plant-names/{hebe}/edit", data=typed, follow_redirects=True).text
    assert "<del>Hebe &#39;Great Orm&#39;</del>" in page
    assert "plant name added" in page
    stale = browser.post(f"/plant-names/{hebe}/edit", data=posted(plant="Hebe 'Orme'"))
    assert stale.status_code == 409
    assert "Hebe &#39;Great Orme&#39;" in stale.text


def test_a_kept_name_with_a_question_is_not_asked_again(
    sign_in: SignIn, database: Database
) -> None:
    (one,) = keep(database, "Lavandula sp.")
    browser = sign_in(Role.HEAD)
    assert 'value="Lavandula sp." checked' in browser.get(f"/plant-names/{one}/edit").text
    typed = posted(plant="Lavandula sp.", as_typed="Lavandula sp.", notes="from the old hedge")
    assert browser.post(f"/plant-names/{one}/edit", data=typed).status_code == 303


def test_the_list_is_searched_and_turned(sign_in: SignIn, database: Database) -> None:
    keep(database, *(f"Rosa {letter}{other}a" for letter in "abcdefgh" for other in "abcdefgh"))
    browser = sign_in(Role.TRAINEE)
    first = browser.get("/plant-names").text
    assert "Rosa aaa to Rosa gba" in first
    assert "Add a name" not in first
    later = first.partition('rel="next" href="')[2].partition('"')[0].replace("&amp;", "&")
    second = browser.get(later).text
    assert "Rosa gca to Rosa hha" in second
    assert 'rel="prev"' in second
    found = browser.get("/plant-names?find=rosa+hha").text
    assert found.count("/plant-names/64") == 1
    assert "No name holds these words" in browser.get("/plant-names?find=%25").text


def test_suggestions_come_as_json(sign_in: SignIn, database: Database) -> None:
    keep(database, "Hebe 'Great Orme'", "Salvia 'Great Blue'")
    browser = sign_in(Role.TRAINEE)
    assert browser.get("/api/plant-names?q=great+o").json == ["Hebe 'Great Orme'"]
    assert browser.get("/api/plant-names?q=+").json == []
    assert browser.get("/api/plant-names?q=" + "x" * 5000).json == []


def test_only_the_head_keeps_names(sign_in: SignIn, database: Database) -> None:
    (hebe,) = keep(database, "Hebe albicans")
    for role in (Role.TRAINEE, Role.MANAGER):
        browser = sign_in(role)
        assert browser.get(f"/plant-names/{hebe}").status_code == 200
        assert browser.post(f"/plant-names/{hebe}/edit", data=posted()).status_code == 403


def test_genera_are_listed_with_family_and_caution(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.HEAD)
    assert "No genus yet" in browser.get("/genera").text
    keep(database, "Euphorbia characias", "Hebe albicans")
    page = browser.get("/genera").text
    assert "eye protection" in page
    assert "no caution recorded" in page
    answer = browser.post(
        "/genera/Hebe/edit", data=posted(family="Plantaginaceae"), follow_redirects=True
    )
    assert "Plantaginaceae" in answer.text
    assert browser.post("/genera/Hebe/edit", data=posted(family="x")).status_code == 422
    assert browser.get("/genera/Nowhere/edit").status_code == 404
