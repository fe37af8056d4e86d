"""The door: in by name and password, in a real browser."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from app.domain.people import Role

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("javascript", [True, False])
def test_somebody_comes_in(enter: Callable[..., Page], javascript: bool) -> None:
    page = enter(Role.HEAD, javascript=javascript)
    expect(page.get_by_text("Ines Farrow").first).to_be_visible()
    assert "sign-in" not in page.url
