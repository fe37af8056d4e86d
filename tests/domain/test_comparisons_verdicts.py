"""The table of verdicts, line by line."""

import pytest

from app.domain.comparisons_verdicts import Verdict, verdict_of


@pytest.mark.parametrize(
    ("fewest", "comparable", "alike", "low", "high", "verdict"),
    [
        (0, 1.0, 50.0, 0.1, 0.2, Verdict.NOTHING),
        (2, 1.0, 50.0, 0.1, 0.2, Verdict.TOO_FEW),
        (3, 0.09, 50.0, 0.1, 0.2, Verdict.NOT_SEPARABLE),
        (3, 0.5, 0.0, 0.1, 0.2, Verdict.NO_DIRECT),
        (3, 0.5, 9.0, 0.02, 0.10, Verdict.DIFFERENCE),
        (3, 0.5, 9.0, -0.10, -0.02, Verdict.DIFFERENCE),
        (3, 0.5, 9.0, -0.04, 0.05, Verdict.NO_MATTER),
        (3, 0.5, 9.0, -0.04, 0.08, Verdict.NOT_LARGE),
        (3, 0.5, 9.0, -0.04, 0.19, Verdict.NOT_ENOUGH),
        (3, 0.5, 9.0, -0.19, 0.04, Verdict.NOT_ENOUGH),
    ],
)
def test_each_line(
    fewest: int, comparable: float, alike: float, low: float, high: float, verdict: Verdict
) -> None:
    found = verdict_of(fewest, comparable=comparable, alike=alike, low=low, high=high)
    assert found is verdict
