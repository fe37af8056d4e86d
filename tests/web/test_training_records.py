"""A person's record: their own for a trainee, anybody's for the head; facts, and no marks."""

import re
from collections.abc import Callable
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient
from sqlalchemy import update

from app.domain.cutting_types import CuttingType
from app.domain.people import Actor, Role
from app.services.batches import void_batch
from app.store.models.batches import Batch
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant, days_ago
from tests.services.check_records import check, said, stick
from tests.services.finished_records import add_finished

SignIn = Callable[[Role], FlaskClient]
OWN = "/people/key-of-trainee/record"


def page(browser: FlaskClient, address: str = OWN, status: int = 200) -> str:
    answer = browser.get(address)
    assert answer.status_code == status
    return " ".join(answer.get_data(as_text=True).split())


def posted(**typed: str) -> dict[str, str]:
    return {"post_key": token_urlsafe(18), **typed}


@pytest.fixture
def practised(database: Database, head: Actor, trainee: Actor) -> None:
    """Two softwood batches the trainee stuck, one only made by them, one of theirs void."""
    with database.writing() as session:
        hebe, fuchsia = add_plant(session), add_plant(session, "Fuchsia 'Invented Bell'")
        soft = {"cutting_type": CuttingType.SOFTWOOD, "stuck": 50}
        mine = {"stuck_by_id": trainee.person_id}
        first = stick(session, head, plant=hebe, stuck_on=days_ago(40), **soft, **mine)
        stick(session, head, plant=fuchsia, stuck_on=days_ago(20), **soft, **mine)
        stick(session, head, plant=hebe, made_by_id=trainee.person_id, **soft)
        gone = stick(session, head, plant=hebe, **soft, **mine)
        void_batch(
            session, actor=head, today=TODAY, now=NOW, batch_id=gone.id, reason="typed twice"
        )
        check(session, trainee, first, said(10, rooted=4, checked_by_id=trainee.person_id))


def test_a_trainee_comes_to_their_own_from_today(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    assert 'href="/my-record"' in page(browser, "/")
    assert browser.get("/my-record").headers["Location"] == OWN
    shown = page(browser)
    assert "Nothing is signed off so far." in shown
    assert "The program gives no marks." in shown
    assert "No check names" in shown


def test_a_trainee_sees_nobody_elses_and_signs_nothing(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    page(browser, "/people/key-of-head/record", status=404)
    page(browser, "/people/no-such-person/record", status=404)
    page(browser, "/people/key-of-trainee/sign-offs/new", status=403)


@pytest.mark.usefixtures("practised")
def test_what_was_practised_is_counted_by_type_and_hand(sign_in: SignIn) -> None:
    shown = page(sign_in(Role.TRAINEE))
    row = re.search(r'<tr><th scope="row">softwood</th>(.*?)</tr>', shown)
    assert row
    numbers = re.findall(r'class="number">([\d,]+)<', row[1])
    # Gathered, made, stuck, cuttings stuck: the void batch counts nowhere.
    assert numbers == ["0", "1", "2", "100"]
    assert "Fuchsia, Hebe" in row[1]
    assert "1 check of 1 batch" in shown
    assert "1 counted, 0 by sample, 0 looked at only" in shown
    assert "it takes three finished batches" in shown


def test_rates_stand_beside_what_others_got_with_the_same_work(
    sign_in: SignIn, database: Database, head: Actor, trainee: Actor
) -> None:
    with database.writing() as session:
        plant = add_finished(session, head, batches=10)
        add_finished(session, trainee, batches=4, plant=plant)
        session.execute(update(Batch).where(Batch.id <= 10).values(stuck_by_id=head.person_id))
        session.execute(update(Batch).where(Batch.id > 10).values(stuck_by_id=trainee.person_id))
    shown = page(sign_in(Role.TRAINEE))
    said_of = re.search(
        r"4 batches: (\d+) % rooted, where (\d+) % was to be expected of the same plants, methods",
        shown,
    )
    assert said_of
    # All batches of the test struck 40 of 60: nobody is better or worse.
    assert said_of[1] == said_of[2] == "67"
    assert "Difference:" in shown
    assert "Facts from the log" in shown
    assert "where to look, not whose fault it is" in shown


def test_the_head_signs_off_and_withdraws(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    assert f'href="{OWN}"' in page(browser, "/people")
    form = "/people/key-of-trainee/sign-offs/new"
    wrong = browser.post(form, data=posted(technique="", signed_on="tomorrow"))
    assert wrong.status_code == 422
    typed = posted(technique="softwood", signed_on="today", note="clean nodal cuts")
    assert browser.post(form, data=typed).status_code == 303
    shown = page(sign_in(Role.TRAINEE))
    assert "clean nodal cuts" in shown
    assert "1 technique signed off" in shown
    assert "Withdraw" not in shown
    browser, withdraw = sign_in(Role.HEAD), "/sign-offs/1/withdraw"
    assert browser.post(withdraw, data=posted(reason="")).status_code == 422
    assert browser.post(withdraw, data=posted(reason="seen with a blunt knife")).status_code == 303
    shown = page(sign_in(Role.TRAINEE))
    assert "<del>softwood</del>" in shown
    assert "seen with a blunt knife" in shown
    assert "0 techniques signed off" in shown


def test_a_manager_reads_and_does_not_sign(sign_in: SignIn) -> None:
    browser = sign_in(Role.MANAGER)
    assert "Sign off a technique" not in page(browser)
    page(browser, "/people/key-of-trainee/sign-offs/new", status=403)
