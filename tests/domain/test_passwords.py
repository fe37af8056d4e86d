"""What a password must be: long enough, no composition rule.

NIST SP 800-63B, second draft of revision 4, on passwords: a least length, spaces and Unicode
accepted and counted by code point, no rules of composition, nothing cut off (CONFIRMED, its list
as quoted by others).
"""

import pytest

from app.domain.passwords import LONGEST, accepted_password
from app.domain.problems import NotAccepted


@pytest.mark.parametrize(
    "password",
    [
        "wet gravel",
        "allsmallletters",
        "mist bench two",
        "\u4e03\u4f4d\u306e\u6c34\u3084\u308a\u306e\u671d\u5bdd\u574a",
        "  spaces count  ",
        "w" * 3 + "ord" * 65,
        "farrow and six cuttings",
    ],
)
def test_length_is_what_counts(password: str) -> None:
    assert accepted_password(password, name="Ines Farrow") == password


@pytest.mark.parametrize(
    ("password", "said"),
    [
        ("", "at least 10"),
        ("nine char", "at least 10"),
        ("x" * (LONGEST + 1), "at most"),
        ("aaaaaaaaaaaa", "first things"),
        ("abababababab", "first things"),
        ("Password123", "first things"),
        ("STRIKEWELL1", "first things"),
        ("InesFarrow1", "first things"),
        ("ines.farrow.2026", "first things"),
        ("farrowfarrow", "first things"),
        ("1234567890", "first things"),
        ("qwertyuiop", "first things"),
    ],
)
def test_too_short_or_a_first_guess(password: str, said: str) -> None:
    with pytest.raises(NotAccepted, match=said) as refusal:
        accepted_password(password, name="Ines Farrow", field="new")
    assert refusal.value.problems[0].field == "new"
