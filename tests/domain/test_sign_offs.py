"""What may be signed off, and how it is withdrawn."""

from datetime import date, timedelta

import pytest

from app.domain.cutting_types import CuttingType
from app.domain.problems import NotAccepted
from app.domain.sign_offs import (
    LONGEST_NOTE,
    TECHNIQUES,
    SignOffEntry,
    accepted_reason,
    accepted_sign_off,
)

TODAY = date(2026, 11, 25)


def test_every_cutting_type_can_be_signed_off() -> None:
    assert {each.value for each in CuttingType} < set(TECHNIQUES)
    for technique in TECHNIQUES:
        entry = SignOffEntry(technique=technique, signed_on=TODAY)
        assert accepted_sign_off(entry, today=TODAY) == entry


def test_genus_and_note_are_tidied() -> None:
    typed = SignOffEntry(technique="softwood", signed_on=TODAY, genus=" hebe ", note=" ten  cuts ")
    tidy = accepted_sign_off(typed, today=TODAY)
    assert (tidy.genus, tidy.note) == ("Hebe", "ten cuts")


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("technique", {"technique": "juggling"}),
        ("technique", {"technique": ""}),
        ("signed_on", {"signed_on": TODAY + timedelta(days=1)}),
        ("signed_on", {"signed_on": date(1899, 1, 1)}),
        ("genus", {"genus": "Hebe 'Great Orme'"}),
        ("genus", {"genus": "1234"}),
        ("note", {"note": "x" * (LONGEST_NOTE + 1)}),
    ],
)
def test_what_it_may_not_be(field: str, changes: dict[str, object]) -> None:
    values = {"technique": "softwood", "signed_on": TODAY} | changes
    with pytest.raises(NotAccepted) as refused:
        accepted_sign_off(SignOffEntry(**values), today=TODAY)  # type: ignore[arg-type]
    assert [problem.field for problem in refused.value.problems] == [field]


@pytest.mark.parametrize("reason", ["", "  ", "x" * (LONGEST_NOTE + 1)])
def test_withdrawing_wants_a_reason(reason: str) -> None:
    with pytest.raises(NotAccepted):
        accepted_reason(reason)
    assert accepted_reason(" cut   herself ") == "cut herself"
