"""The season's page: all open orders together, under the room there is."""

from collections.abc import Callable

from flask.testing import FlaskClient

from app.domain.people import Role
from app.store.session import Database
from tests.journeys.told_log import tell_small_log

SignIn = Callable[[Role], FlaskClient]


def test_without_an_order_it_says_what_will_be_here(sign_in: SignIn) -> None:
    page = sign_in(Role.TRAINEE).get("/plan/season").text
    assert "No order is open" in page
    assert "will be told here" in page


def test_a_wrong_room_is_refused_beside_its_field(sign_in: SignIn) -> None:
    answer = sign_in(Role.TRAINEE).get("/plan/season?trays=0&labour=some&per_tray=84")
    assert answer.status_code == 422
    assert "Give at least 1." in answer.text
    assert 'value="some"' in answer.text


def test_open_orders_are_planned_by_week(
    sign_in: SignIn, client: FlaskClient, database: Database
) -> None:
    sign_in(Role.HEAD)
    tell_small_log(database)
    page = client.get("/plan/season?trays=7").text
    assert "order 1" in page
    assert "What to stick when" in page
    assert "-W" in page
    assert "7 trays of 84 are free each week" in page
    assert "A longer search could save at most" in page
    little = client.get("/plan/season?labour=1").text
    assert "cannot be met in full" in little
    assert "/plan/season" in client.get("/plan").text
