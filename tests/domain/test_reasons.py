"""A reason is one line that says something."""

import pytest

from app.domain.problems import NotAccepted
from app.domain.reasons import LONGEST_REASON, accepted_reason


def test_a_reason_is_kept_in_one_line() -> None:
    assert accepted_reason("  wrong \n number ", missing="Say why.") == "wrong number"
    assert accepted_reason("x" * LONGEST_REASON, missing="Say why.") == "x" * LONGEST_REASON


@pytest.mark.parametrize(
    ("typed", "said"),
    [(" \n ", "Say why."), ("x" * (LONGEST_REASON + 1), "at most 500 letters")],
)
def test_none_and_too_long_a_one_are_refused_by_their_field(typed: str, said: str) -> None:
    with pytest.raises(NotAccepted, match=said) as refused:
        accepted_reason(typed, missing="Say why.")
    assert refused.value.problems[0].field == "reason"


def test_a_shorter_limit_is_kept() -> None:
    with pytest.raises(NotAccepted, match="at most 5 letters"):
        accepted_reason("123456", missing="Say why.", longest=5)
