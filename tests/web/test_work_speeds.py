"""The page of cuttings an hour, as each role sees it."""

from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from app.domain.cutting_types import CuttingType
from app.domain.people import Actor, Role
from app.services.batches import stick_batch, void_batch
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant, days_ago, entry

SignIn = Callable[[Role], FlaskClient]
PAGE = "/cuttings-per-hour"


@pytest.fixture(autouse=True)
def log(database: Database, head: Actor, trainee: Actor) -> None:
    """Five batches of the head's at 100 an hour, one of the trainee's at 40, a void one."""
    with database.writing() as session:
        plant = add_plant(session)
        usual = {"cutting_type": CuttingType.SOFTWOOD, "stuck": 100, "hours": 1.0}
        for more in (
            *[{"stuck_by_id": head.person_id}] * 4,
            {"stuck_by_id": head.person_id, "stuck_on": days_ago(900)},
            {"stuck_by_id": trainee.person_id, "hours": 2.5},
            {
                "stuck": 80,
                "taken": 100,
                "thrown_out": 20,
                "hours": None,
                "made_hours": 0.5,
                "made_by_id": trainee.person_id,
            },
            {"hours": 0.1},
        ):
            said = entry(plant, **(usual | more))
            last = stick_batch(session, actor=head, today=TODAY, now=NOW, entry=said)
        void_batch(
            session, actor=head, today=TODAY, now=NOW, batch_id=last.id, reason="entered twice"
        )


def test_everybody_together_and_oneself(sign_in: SignIn) -> None:
    page = sign_in(Role.TRAINEE).get(PAGE).text
    # 500 in 6.5 hours of sticking; what was thrown out was made too.
    assert "<b>77</b> an hour, 40 to 100<br><small>5 batches; 6.5 hours</small>" in page
    assert "<b>200</b> an hour<br><small>1 batch, few; 0.5 hours</small>" in page
    own = page.partition("Your own</h2>")[2]
    assert "<b>40</b> an hour<br><small>1 batch, few; 2.5 hours</small>" in own
    assert "Ines Farrow" not in page.partition("<main")[2]


def test_a_trainee_asks_about_nobody_else(sign_in: SignIn, head: Actor) -> None:
    page = sign_in(Role.TRAINEE).get(f"{PAGE}?person={head.person_id}").text
    assert "<b>100</b>" not in page.partition("Your own</h2>")[2]


def test_a_head_looks_at_one_person_at_a_time(sign_in: SignIn, trainee: Actor) -> None:
    page = sign_in(Role.HEAD).get(f"{PAGE}?person={trainee.person_id}").text
    assert f"<h2>{trainee.name}</h2>" in page
    assert "<b>40</b> an hour" in page.partition(f"<h2>{trainee.name}</h2>")[2]


def test_older_batches_are_asked_for(sign_in: SignIn) -> None:
    page = sign_in(Role.HEAD).get(f"{PAGE}?since=1+Jan+2020").text
    assert "<small>6 batches; 7.5 hours</small>" in page
    answer = sign_in(Role.HEAD).get(f"{PAGE}?since=soon")
    assert answer.status_code == 422
    assert 'value="soon"' in answer.text


def test_the_season_says_what_a_week_of_sticking_comes_to(sign_in: SignIn) -> None:
    page = sign_in(Role.HEAD).get("/plan/season").text
    assert "sticking goes at 77 cuttings an hour (40 to 100): about 3,100 in 40 hours" in page
    assert PAGE in sign_in(Role.HEAD).get("/strike-rates").text
