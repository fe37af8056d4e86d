"""What Today says of tests that run out, and from which day to which."""

from datetime import timedelta

import pytest

from app.domain.stock_plant_notices import running_out_words
from tests.conftest import TODAY


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (None, ""),
        (31, ""),
        (30, "the test runs out on Fri 25 Dec: have it tested again"),
        (0, "the test runs out on Wed 25 Nov: have it tested again"),
        (-1, "the test ran out on Tue 24 Nov: have it tested again"),
        (-60, "the test ran out on Sat 26 Sep: have it tested again"),
        (-61, ""),
    ],
)
def test_a_test_that_runs_out_is_named_while_it_is_near(days: int | None, said: str) -> None:
    until = None if days is None else TODAY + timedelta(days=days)
    assert running_out_words(until, today=TODAY) == said
