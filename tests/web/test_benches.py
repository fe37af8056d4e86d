"""The pages of benches, used without script."""

from collections.abc import Callable
from secrets import token_urlsafe

from flask.testing import FlaskClient

from app.domain.benches import BenchEntry
from app.domain.people import Actor, Role
from app.services.batches import stick_batch
from app.services.benches import add_bench
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant, entry

SignIn = Callable[[Role], FlaskClient]


def posted(**typed: str) -> dict[str, str]:
    return {"post_key": token_urlsafe(18), "version": "1", **typed}


def add(database: Database, *names: str) -> list[int]:
    with database.writing() as session:
        return [
            add_bench(session, actor=None, now=NOW, entry=BenchEntry(name=name)) for name in names
        ]


def order(page: str, *names: str) -> list[str]:
    return sorted(names, key=lambda name: page.index(f">{name}</a>"))


def test_a_bench_is_added_and_taken_back(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    assert "No bench yet" in browser.get("/benches").text
    typed = posted(name="Mist bench 2", capacity_trays="24")
    page = browser.post("/benches/new", data=typed, follow_redirects=True).text
    assert "Mist bench 2 is saved." in page
    assert ">24</td>" in page
    assert browser.post("/benches/1/close", data=posted()).status_code == 303
    assert "No longer in use" in browser.get("/benches").text
    assert browser.post("/benches/1/reopen", data=posted()).status_code == 303
    assert "No longer in use" not in browser.get("/benches").text


def test_what_is_wrong_stands_by_its_field(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    for typed, sentence in (
        ({"name": "", "capacity_trays": "3"}, "Give it a name"),
        ({"name": "A", "capacity_trays": "2.5"}, "Give a whole number"),
        ({"name": "A", "capacity_trays": "many"}, "Give a number"),
    ):
        answer = browser.post("/benches/new", data=posted(**typed))
        assert answer.status_code == 422
        assert answer.text.count(sentence) == 2  # on top and by the field


def test_the_walk_is_changed_a_place_at_a_time(sign_in: SignIn, database: Database) -> None:
    add(database, "Alpha", "Beta", "Gamma")
    browser = sign_in(Role.HEAD)
    page = browser.get("/benches").text
    assert page.count(">Sooner<") == 2
    assert page.count(">Later<") == 2
    page = browser.post("/benches/3/place/2", data=posted(), follow_redirects=True).text
    assert order(page, "Alpha", "Beta", "Gamma") == ["Alpha", "Gamma", "Beta"]
    assert 'action="/benches/3/place/3"' in page  # undo


def test_who_stands_there_is_shown_and_keeps_it_open(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    (bench,) = add(database, "Mist")
    with database.writing() as session:
        said = entry(add_plant(session), bench_id=bench)
        code = stick_batch(session, actor=head, today=TODAY, now=NOW, entry=said).code
    browser = sign_in(Role.HEAD)
    page = browser.get(f"/benches/{bench}").text
    assert f'href="/batches/{code}"' in page
    assert "Walked, all well except" in page
    assert "Close it" not in page
    refused = browser.post(f"/benches/{bench}/close", data=posted())
    assert refused.status_code == 422
    assert f"{code} stand there" in refused.text


def test_a_bench_is_corrected_once_at_a_time(sign_in: SignIn, database: Database) -> None:
    add(database, "Mist")
    browser = sign_in(Role.HEAD)
    assert 'value="Mist"' in browser.get("/benches/1/edit").text
    page = browser.post("/benches/1/edit", data=posted(name="Mist 1"), follow_redirects=True).text
    assert "<del>Mist</del>" in page
    assert "bench added" in page
    assert browser.post("/benches/1/edit", data=posted(name="Mist 2")).status_code == 409


def test_a_trainee_reads_and_walks_but_changes_nothing(sign_in: SignIn, database: Database) -> None:
    add(database, "Mist", "Frame")
    browser = sign_in(Role.TRAINEE)
    page = browser.get("/benches").text
    assert "Add a bench" not in page
    assert ">Sooner<" not in page
    assert "Correct it" not in browser.get("/benches/1").text
    assert browser.post("/benches/1/place/2", data=posted()).status_code == 403
    assert browser.get("/benches/99").status_code == 404


def test_a_bench_says_what_to_mind_there(sign_in: SignIn, database: Database) -> None:
    (bench_id,) = add(database, "Mist bench 2")
    page = sign_in(Role.TRAINEE).get(f"/benches/{bench_id}").text
    assert "no extension leads on wet floors" in page
    assert "Follow the product label, local rules and licensed practice." in page
