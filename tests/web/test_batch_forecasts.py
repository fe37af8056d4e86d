"""What the page of an open batch says of how it will end, without script."""

import re
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.services.fits import learn
from app.store.queries.batches import find_batch_id
from app.store.session import Database
from tests.conftest import NOW
from tests.services.batch_records import add_plant, days_ago
from tests.services.check_records import check, lost, said, stick
from tests.services.finished_records import add_finished, add_growing

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture
def growing(database: Database, head: Actor) -> str:
    """Fourteen finished batches of Hebe and one of 100 that was counted a week ago; its code."""
    with database.writing() as session:
        plant = add_finished(session, head, batches=14)
        batch = add_growing(session, head, plant=plant, stuck=100, age_days=30)
        check(session, head, batch, said(7, 20, lost=lost(6)))
    return batch.code


def page(browser: FlaskClient, code: str) -> str:
    answer = browser.get(f"/batches/{code}")
    assert answer.status_code == 200
    return answer.get_data(as_text=True)


def test_before_anything_is_learned_the_bounds_stay(sign_in: SignIn, growing: str) -> None:
    told = page(sign_in(Role.TRAINEE), growing)
    assert "at worst 20 %, at best 94 %" in told
    assert "Expected strike" not in told
    assert 'class="ahead"' not in told


@pytest.mark.parametrize("role", list(Role))
def test_the_expected_strike_its_range_and_what_it_leans_on(
    sign_in: SignIn, growing: str, database: Database, role: Role
) -> None:
    learn(database, now=NOW)
    told = page(sign_in(role), growing)
    found = re.search(
        r"Expected strike (\d+) % \((\d+) to (\d+) %\); at worst 20 %, at best 94 %", told
    )
    assert found
    share, low, high = (int(number) for number in found.groups())
    assert 20 <= low < share < high <= 94
    assert 55 <= share <= 75  # the others rooted two in three
    assert "Of 100 stuck 20 rooted, 6 lost, 74 unrooted." in told
    assert "Leans on 14 earlier batches of Hebe." in told
    assert re.search(r"About [345]\d more are expected to root.", told)


def test_what_is_expected_is_drawn_and_said(
    sign_in: SignIn, growing: str, database: Database
) -> None:
    learn(database, now=NOW)
    told = page(sign_in(Role.TRAINEE), growing)
    assert re.search(r'<path class="ahead" d="M[0-9.]+ [0-9.]+L', told)
    assert re.search(r"expected by day \d+: about \d+ rooted", told)


def test_a_check_since_then_counts_at_once(
    sign_in: SignIn, growing: str, database: Database, head: Actor
) -> None:
    learn(database, now=NOW)
    with database.writing() as session:
        batch = add_growing(session, head, plant=1, stuck=50, age_days=80)
        check(session, head, batch, said(1, 34, lost=lost(10)))
    told = page(sign_in(Role.HEAD), batch.code)
    assert "at worst 68 %, at best 80 %" in told
    assert "Few more expected: time to finish?" in told
    assert f'href="/batches/{batch.code}/checks/new">Count it a last time' in told
    assert "Count it a last time" not in page(sign_in(Role.MANAGER), batch.code)


def test_whoever_checks_it_is_told_what_to_expect(
    sign_in: SignIn, growing: str, database: Database
) -> None:
    learn(database, now=NOW)
    told = " ".join(sign_in(Role.TRAINEE).get(f"/batches/{growing}/checks/new").text.split())
    assert re.search(
        r"What to expect: <b>count due: about \d+ more by now; rooted ones are standing too long, "
        r"\d days on average</b> \(by 14 finished batches of Hebe\)\.",
        told,
    )


def test_other_batches_say_nothing_of_what_was_stuck_twice(
    sign_in: SignIn, growing: str, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        first = find_batch_id(session, code=growing)
        again = stick(session, head, plant=1, restuck_from_id=first, stuck=20, stuck_on=days_ago(3))
    learn(database, now=NOW)
    assert "Expected strike" not in page(sign_in(Role.HEAD), again.code)


def test_a_genus_new_to_the_nursery_leans_on_all(
    sign_in: SignIn, growing: str, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        batch = add_growing(session, head, plant=add_plant(session, "Cistus x"))
    learn(database, now=NOW)
    told = page(sign_in(Role.HEAD), batch.code)
    assert "Leans on 14 earlier batches of the whole nursery: none of Cistus is finished" in told
    assert 'class="ahead"' not in told
