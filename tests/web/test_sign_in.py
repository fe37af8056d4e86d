"""The way in and out."""

from collections.abc import Callable

from flask.testing import FlaskClient

from app.domain.people import Role


def test_the_fixture_signs_in(sign_in: Callable[[Role], FlaskClient]) -> None:
    assert sign_in(Role.HEAD).get("/own-password").status_code == 200
