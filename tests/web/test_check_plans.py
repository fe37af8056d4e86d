"""The pages of check plans and causes of loss, without script."""

from collections.abc import Callable
from datetime import date, timedelta
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient

from app.domain.cutting_types import CuttingType
from app.domain.people import Actor, Role
from app.services.fits import learn
from app.store.models.method_cards import MethodCard, MethodCardVersion
from app.store.session import Database
from tests.conftest import NOW
from tests.services.batch_records import add_plant, keep
from tests.services.check_records import Stuck, day, facts, stick
from tests.services.finished_records import add_finished, add_growing

SignIn = Callable[[Role], FlaskClient]
BATCH = Stuck(id=1, code="26-0001")


@pytest.fixture(autouse=True)
def batch(database: Database, head: Actor) -> None:
    with database.writing() as session:
        plant = add_plant(session)
        stick(session, head, plant=plant, cutting_type=CuttingType.SOFTWOOD)


def posted(**typed: str) -> dict[str, str]:
    blank = ("look_every_days", "first_count_day", "count_every_days", "looks_only", "cutting_type")
    return {"post_key": token_urlsafe(18), "version": "0", **dict.fromkeys(blank, ""), **typed}


def next_count_on(database: Database) -> date:
    with database.reading() as session:
        found: date = facts(session, BATCH).next_count_on
    return found


def test_the_nursery_plan_is_read_by_all_and_set_by_the_head(
    sign_in: SignIn, database: Database
) -> None:
    told = sign_in(Role.TRAINEE).get("/check-plans").get_data(as_text=True)
    assert "A look every 7 days, the first count on day 21" in told
    assert "Longman 1993" in told
    assert "Change it" not in told
    for role in (Role.TRAINEE, Role.MANAGER):
        assert sign_in(role).get("/check-plans/nursery").status_code == 403
    head = sign_in(Role.HEAD)
    answer = head.post("/check-plans/nursery", data=posted(first_count_day="30"))
    assert answer.status_code == 303
    assert next_count_on(database) == day(42) + timedelta(days=30)
    page = head.get("/check-plans").get_data(as_text=True)
    assert "Next dates worked out afresh: 1 batch." in page
    assert "the first count on day 30 (the plan for the whole nursery)" in page


def test_a_genus_gets_a_plan_and_it_can_be_changed(sign_in: SignIn, database: Database) -> None:
    head = sign_in(Role.HEAD)
    new = posted(genus="hebe", cutting_type="softwood", first_count_day="12")
    assert head.post("/check-plans/genera/new", data=new).status_code == 303
    assert next_count_on(database) == day(30)
    page = head.get("/check-plans").get_data(as_text=True)
    assert '<i>Hebe</i></span></th><td data-head="Type">softwood</td>' in page
    assert "day 12" in page
    twice = head.post("/check-plans/genera/new", data=posted(genus="Hebe", cutting_type="softwood"))
    assert "There is such a plan already" in twice.get_data(as_text=True)
    edit = "/check-plans/genera/1?type=softwood"
    assert 'value="12"' in head.get(edit).get_data(as_text=True)
    blank = head.post(edit, data=posted(version="1"))
    assert blank.status_code == 303
    assert next_count_on(database) == day(21)
    again = head.post("/check-plans/genera/new", data=posted(genus="Hebe", first_count_day="9"))
    assert again.status_code == 303
    assert head.get("/check-plans/genera/1?type=straw").status_code == 404
    assert head.get("/check-plans/genera/77").status_code == 404


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"genus": "Nothofagus"}, "Nothofagus is not known here yet"),
        ({"genus": "Hebe", "look_every_days": "weekly"}, "Type a whole number of days"),
        ({"genus": "Hebe", "look_every_days": "0"}, "from 1 to 730"),
    ],
)
def test_a_refusal_keeps_what_was_typed(
    sign_in: SignIn, typed: dict[str, str], sentence: str
) -> None:
    answer = sign_in(Role.HEAD).post("/check-plans/genera/new", data=posted(**typed))
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert page.count(sentence) == 2
    for value in typed.values():
        assert f'value="{value}"' in page


def test_the_plan_of_a_genus_shows_its_method_cards(sign_in: SignIn, database: Database) -> None:
    with database.writing() as session:
        card = keep(session, MethodCard(genus_id=1, cutting_type="softwood"))
        version = MethodCardVersion(
            method_card_id=card, number=1, made_at=NOW, weeks_low=4, weeks_high=6
        )
        keep(session, version)
    page = sign_in(Role.HEAD).get("/check-plans/genera/1").get_data(as_text=True)
    assert "4 to 6 weeks to root (common practice, no source)" in page


def test_a_batch_gets_a_plan_of_its_own(sign_in: SignIn, database: Database) -> None:
    head = sign_in(Role.HEAD)
    page = head.get("/batches/26-0001/check-plan").get_data(as_text=True)
    assert "What holds now: A look every 7 days, the first count on day 21" in page
    answer = head.post("/batches/26-0001/check-plan", data=posted(looks_only="yes"))
    assert (answer.status_code, answer.location) == (303, "/batches/26-0001")
    assert next_count_on(database) == date(2027, 10, 1)
    page = head.get("/check-plans").get_data(as_text=True)
    assert 'href="/batches/26-0001/check-plan"' in page
    assert "only looked at" in page
    stale = head.post("/batches/26-0001/check-plan", data=posted(looks_only="no"))
    assert stale.status_code == 409
    assert head.get("/batches/26-1/check-plan").status_code == 302


@pytest.fixture
def learned(database: Database, head: Actor) -> Stuck:
    """Fourteen finished batches of Hebe, and one of 100 whose counts are timed by them."""
    with database.writing() as session:
        plant = add_finished(session, head, batches=14, plant=1)
        growing = add_growing(session, head, plant=plant)
    learn(database, now=NOW)
    return growing


def due_day(database: Database, batch: Stuck) -> int:
    """The age in days at which the batch is counted next."""
    with database.reading() as session:
        found = facts(session, batch)
        return int((found.next_count_on - found.stuck_on).days)


def test_a_batch_says_by_what_its_next_count_is_timed(
    sign_in: SignIn, learned: Stuck, database: Database
) -> None:
    address = f"/batches/{learned.code}/check-plan"
    told = " ".join(sign_in(Role.TRAINEE).get(address).get_data(as_text=True).split())
    assert (
        "counts go by that instead. The next count is timed by 14 finished batches of Hebe." in told
    )
    # a hundred at four weeks' median have stood forty days between them by about three weeks
    assert 17 <= due_day(database, learned) <= 23


@pytest.mark.parametrize(
    ("address", "more"),
    [
        ("/check-plans/nursery", {}),
        ("/check-plans/genera/new", {"genus": "Hebe"}),
        ("/check-plans/genera/new", {"genus": "Hebe", "cutting_type": "semi-ripe"}),
        ("/batches/{code}/check-plan", {}),
    ],
)
def test_when_to_count_is_chosen_for_nursery_genus_type_or_batch(
    sign_in: SignIn, learned: Stuck, database: Database, address: str, more: dict[str, str]
) -> None:
    head = sign_in(Role.HEAD)
    at = address.format(code=learned.code)
    page = head.get(at).get_data(as_text=True)
    assert "When to count" in page
    for words in ("by what earlier batches taught, as soon as enough", "always by the days above"):
        assert words in page
    by_learning = due_day(database, learned)
    by_days = posted(first_count_day="40", learned="days", **more)
    assert head.post(at, data=by_days).status_code == 303
    assert due_day(database, learned) == 40 != by_learning
    plan = head.get(f"/batches/{learned.code}/check-plan").get_data(as_text=True)
    assert "Counts always go by these days." in plan
    assert "The next count is timed by" not in plan


def test_a_batch_may_go_by_what_was_learned_where_its_genus_does_not(
    sign_in: SignIn, learned: Stuck, database: Database
) -> None:
    head = sign_in(Role.HEAD)
    by_learning = due_day(database, learned)
    genus = posted(genus="Hebe", first_count_day="40", learned="days")
    head.post("/check-plans/genera/new", data=genus)
    assert due_day(database, learned) == 40
    own = posted(learned="batches")
    assert head.post(f"/batches/{learned.code}/check-plan", data=own).status_code == 303
    assert due_day(database, learned) == by_learning
    plans = head.get("/check-plans").get_data(as_text=True)
    assert '<td data-head="When to count">by the days</td>' in plans
    assert '<td data-head="When to count">by earlier batches</td>' in plans


def test_everybody_reads_what_plan_holds_and_only_the_head_sets_it(
    sign_in: SignIn, database: Database
) -> None:
    address = "/batches/26-0001/check-plan"
    for role in (Role.TRAINEE, Role.MANAGER):
        browser = sign_in(role)
        page = browser.get(address).get_data(as_text=True)
        assert "What holds now: A look every 7 days" in page
        assert "Set the plan" not in page
        assert browser.post(address, data=posted(first_count_day="3")).status_code == 403
    assert next_count_on(database) == day(21)


def test_causes_are_listed_added_and_corrected(sign_in: SignIn) -> None:
    head = sign_in(Role.HEAD)
    assert "grey mould" in head.get("/lost-causes").get_data(as_text=True)
    new = {"post_key": token_urlsafe(18), "version": "1", "name": "Vine weevil", "spreads": "y"}
    page = head.post("/lost-causes/new", data=new, follow_redirects=True).get_data(as_text=True)
    assert "vine weevil" in page
    assert page.count("yes: urgent when found") == 4
    taken = head.post("/lost-causes/new", data=new | {"post_key": token_urlsafe(18)})
    assert taken.status_code == 422
    assert "is in the list already" in taken.get_data(as_text=True)
    change = {"post_key": token_urlsafe(18), "version": "1", "name": "weevil", "retired": "y"}
    page = head.post("/lost-causes/17/edit", data=change, follow_redirects=True)
    assert "no longer in use" in page.get_data(as_text=True)
    stale = head.post(
        "/lost-causes/17/edit", data=change | {"post_key": token_urlsafe(18), "name": "x1"}
    )
    assert stale.status_code == 409
    kept = {"post_key": token_urlsafe(18), "version": "1", "name": "gone"}
    assert "stays in the list" in head.post("/lost-causes/14/edit", data=kept).get_data(
        as_text=True
    )
    trainee = sign_in(Role.TRAINEE)
    assert "Add a cause" not in trainee.get("/lost-causes").get_data(as_text=True)
    assert trainee.get("/lost-causes/new").status_code == 403
