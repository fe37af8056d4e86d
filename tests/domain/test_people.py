"""Names of people."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.people import LONGEST_NAME, accepted_name, name_key, tidy_name
from app.domain.problems import NotAccepted


def test_a_name_is_tidied() -> None:
    assert accepted_name("  Ines \t Farrow ") == "Ines Farrow"


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Ines Farrow", "ines  FARROW"),
        # One written with a combining accent, one with the letter that has it (Unicode NFC).
        ("Jose\u0301 Pen\u0303a", "JOS\u00c9 PE\u00d1A"),
        ("Stra\u00dfe", "STRASSE"),
    ],
)
def test_two_ways_of_typing_one_name(one: str, other: str) -> None:
    assert name_key(one) == name_key(other)


@pytest.mark.parametrize("name", ["", "   ", "-", "x" * (LONGEST_NAME + 1), "Ines\x00Farrow"])
def test_what_is_no_name_is_refused(name: str) -> None:
    with pytest.raises(NotAccepted) as refusal:
        accepted_name(name, field="who")
    assert [problem.field for problem in refusal.value.problems] == ["who"]


@given(st.text(max_size=LONGEST_NAME))
def test_tidying_twice_changes_nothing(name: str) -> None:
    assert tidy_name(tidy_name(name)) == tidy_name(name)
    assert name_key(tidy_name(name)) == name_key(name)
