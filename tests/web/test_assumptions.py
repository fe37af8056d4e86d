"""The page of assumptions, before and after the nursery has learned something."""

import re
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.store.session import Database
from tests.services.finished_records import add_finished

SignIn = Callable[[Role], FlaskClient]


def page(browser: FlaskClient) -> str:
    answer = browser.get("/assumptions")
    assert answer.status_code == 200
    return " ".join(answer.get_data(as_text=True).split())


@pytest.mark.parametrize("role", list(Role))
def test_until_twelve_are_finished_all_are_assumptions(sign_in: SignIn, role: Role) -> None:
    told = page(sign_in(role))
    assert "They hold as they are until 12 batches are finished; 0 are so far." in told
    assert not re.search(r"learned from \d", told)
    assert told.count("an assumption, no source") > 15
    assert "0.12: a batch of 300 tells as much as 8 separate cuttings" in told
    assert "40 days between them, such as 8 of them for 5 days each" in told


def test_then_learned_values_stand_beside(sign_in: SignIn, database: Database, head: Actor) -> None:
    with database.writing() as session:
        add_finished(session, head, batches=13)
    told = page(sign_in(Role.TRAINEE))
    assert "Learned values come from 13 finished batches of this nursery" in told
    assert told.count("learned from 13 finished batches") == 11
    # what is a rule and not learned stays an assumption
    assert told.count("a rule as it was set: an assumption, no source") > 10


def test_no_statistical_word_of_ours_reaches_the_page(sign_in: SignIn) -> None:
    told = page(sign_in(Role.HEAD)).lower()
    for word in ("house", "prior", "posterior", "cutting-days", "certain range"):
        assert word not in told
