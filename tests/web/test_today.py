"""Today as each person sees it, without script."""

import subprocess
import sys
from collections.abc import Callable

import pytest
from flask import Flask
from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.services.fits import learn
from app.store.session import Database
from tests.conftest import NOW
from tests.rules.sources import ROOT
from tests.services.batch_records import add_bench, add_plant
from tests.services.check_records import check, day, lost, said, stick
from tests.services.finished_records import add_finished, add_growing

SignIn = Callable[[Role], FlaskClient]


def page(browser: FlaskClient, address: str = "/") -> str:
    answer = browser.get(address)
    assert answer.status_code == 200
    return answer.get_data(as_text=True)


@pytest.fixture
def due(database: Database, head: Actor) -> None:
    """One late batch with rot on a bench, one due today elsewhere, one coming, one cleared."""
    with database.writing() as session:
        plant = add_plant(session)
        mist = add_bench(session, "Mist bench 2", walking_order=2)
        frame = add_bench(session, "Cold frame A", walking_order=1)
        late = stick(session, head, plant=plant, bench_id=mist)
        check(session, head, late, said(8, 38, lost=lost(11)))
        today = stick(session, head, plant=plant, bench_id=frame)
        check(session, head, today, said(7, 1))
        stick(session, head, plant=plant, stuck_on=day(3))
        cleared = stick(session, head, plant=plant, bench_id=mist)
        check(session, head, cleared, said(7, 96))


def test_the_heading_says_it_in_a_sentence(sign_in: SignIn, due: None) -> None:
    told = page(sign_in(Role.HEAD))
    assert "Two batches want a look today, one of them late" in told
    assert "Wed 25 November 2026, week 48. In the order they stand." in told


def test_benches_stand_in_walking_order_with_what_each_holds(sign_in: SignIn, due: None) -> None:
    told = page(sign_in(Role.HEAD))
    places = [told.index(name) for name in ("Cold frame A", "Mist bench 2", "No bench recorded")]
    assert places == sorted(places)
    assert "1 batch: 1 late" in told
    assert "1 batch: 1 coming" in told
    assert "26-0004" not in told


def test_a_line_says_plant_age_counts_and_what_to_expect(sign_in: SignIn, due: None) -> None:
    told = page(sign_in(Role.HEAD))
    assert "<i>Hebe</i> ‘Great Orme’" in told
    assert "96, stuck 42 days ago" in told
    assert "38 rooted, 47 unrooted, 11 lost" in told
    assert "1 day late" in told
    assert "Urgent: basal rot at the last check, and it spreads." in told
    assert "look due: rot, pests" in told


def test_the_round_starts_with_the_first_that_wants_a_look(sign_in: SignIn, due: None) -> None:
    told = page(sign_in(Role.HEAD))
    assert 'href="/round">Start the round' in told
    # one for each line that wants a look; one that is coming stands back
    assert told.count('class="do" href="/batches/') == 2
    assert told.count('class="do second" href="/batches/26-') == 1


def test_a_trainee_has_two_big_buttons_and_the_same_list(sign_in: SignIn, due: None) -> None:
    told = page(sign_in(Role.TRAINEE))
    assert '<a class="do large" href="/batches/new">Stick a batch</a>' in told
    assert '<a class="do large" href="/checks/new">Check a batch</a>' in told
    assert told.index("Check a batch") < told.index("Cold frame A")
    assert '<a class="do second" href="/round">Start the round</a>' in told


def test_the_manager_reads_and_is_offered_no_check(sign_in: SignIn, due: None) -> None:
    told = page(sign_in(Role.MANAGER))
    assert "Mist bench 2" in told
    assert "/checks/new" not in told
    assert "/walk" not in told


def test_an_empty_log_gives_the_first_step(sign_in: SignIn) -> None:
    told = page(sign_in(Role.TRAINEE))
    assert "Nothing wants a look today" in told
    assert "Stick the first batch" in told
    assert "Stick the first batch" not in page(sign_in(Role.MANAGER))


def test_nothing_due_says_when_the_next_look_is(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        batch = stick(session, head)
        check(session, head, batch, said(0, 96))
    assert "Nothing is late, due today, or due in the coming seven days." in page(
        sign_in(Role.HEAD)
    )


@pytest.fixture
def learned(database: Database, head: Actor) -> None:
    """Two batches of a genus of which fourteen are finished, the later one far larger."""
    with database.writing() as session:
        bench = add_bench(session)
        plant = add_finished(session, head, batches=14)
        add_growing(session, head, plant=plant, stuck=6, age_days=31, bench_id=bench)
        add_growing(session, head, plant=plant, stuck=300, age_days=30, bench_id=bench)
    learn(database, now=NOW)


def test_a_line_says_what_earlier_batches_let_expect(sign_in: SignIn, learned: None) -> None:
    told = page(sign_in(Role.TRAINEE))
    assert "first count due: about 4 in 10 rooted by now" in told
    assert "rooted ones are standing too long" in told
    assert "(by 14 finished batches of Hebe)" in told


def test_the_list_can_begin_with_what_costs_most(sign_in: SignIn, learned: None) -> None:
    trainee = sign_in(Role.TRAINEE)
    walked = page(trainee)
    assert walked.index("26-0015") < walked.index("26-0016")
    assert 'href="/?order=cost"' in walked
    by_cost = page(trainee, "/?order=cost")
    assert by_cost.index("26-0016") < by_cost.index("26-0015")
    assert "Where rooted ones have been standing longest first." in by_cost
    assert "on Mist bench 2" in by_cost
    assert 'href="/">In the order they stand</a>' in by_cost


def test_without_anything_learned_there_is_one_order(sign_in: SignIn, due: None) -> None:
    told = page(sign_in(Role.HEAD), "/?order=cost")
    assert "Cold frame A" in told
    assert "order=cost" not in told


def test_today_is_shown_without_a_numerical_library(
    app: Flask, sign_in: SignIn, learned: None, database: Database
) -> None:
    """A fresh interpreter shows Today with what was learned; the fit itself stays packed."""
    cookie = sign_in(Role.HEAD).get_cookie(app.config["SESSION_COOKIE_NAME"])
    assert cookie
    code = (
        "import sys\n"
        "from datetime import UTC, datetime\n"
        "from pathlib import Path\n"
        "from app import create_app\n"
        "from app.clock import FixedClock\n"
        "from app.settings import Settings\n"
        "clock = FixedClock(datetime(2026, 11, 25, 9, tzinfo=UTC))\n"
        "settings = Settings(data=Path(sys.argv[1]), secret_key='for tests only', testing=True)\n"
        "client = create_app(settings, clock=clock).test_client()\n"
        "client.set_cookie(*sys.argv[2:])\n"
        "told = client.get('/').text\n"
        "print('finished batches of Hebe' in told, 'numpy' in sys.modules, 'scipy' in sys.modules)"
    )
    answer = subprocess.run(
        [sys.executable, "-c", code, str(database.path.parent), cookie.key, cookie.value],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert answer.stdout.split() == ["True", "False", "False"], answer.stderr


def test_the_other_address_leads_here(sign_in: SignIn) -> None:
    answer = sign_in(Role.HEAD).get("/today")
    assert (answer.status_code, answer.location) == (302, "/")
