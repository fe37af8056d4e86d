"""What holds for an order as it is entered."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from app.domain.orders import OrderEntry, accepted_order, sure_words
from app.domain.problems import NotAccepted

TODAY = date(2026, 11, 25)
ENTRY = OrderEntry(plants=500, due_on=date(2027, 5, 17), plant_name_id=1)


def refused(**wrong: Any) -> tuple[str, str]:
    with pytest.raises(NotAccepted) as refusal:
        accepted_order(replace(ENTRY, **wrong), today=TODAY)
    (problem,) = refusal.value.problems
    return problem.field, problem.sentence


def test_texts_are_tidied() -> None:
    found = accepted_order(replace(ENTRY, for_whom="  the  spring sale ", notes=" n "), today=TODAY)
    assert (found.for_whom, found.notes) == ("the spring sale", "n")


@pytest.mark.parametrize(
    ("field", "wrong"),
    [
        ("plants", {"plants": 0}),
        ("plants", {"plants": 1_000_001}),
        ("per_place", {"per_place": 21}),
        ("enough_per_place", {"per_place": 2, "enough_per_place": 3}),
        ("enough_per_place", {"enough_per_place": 0}),
        ("batches", {"batches": 0}),
        ("window_weeks", {"window_weeks": 53}),
        ("sure", {"sure_share": 0.4}),
        ("sure", {"sure_share": 0.999}),
        ("ready", {"ready_share": 0.0}),
        ("ready", {"ready_share": 1.1}),
        ("weaning_days", {"weaning_days": -1}),
        ("for_whom", {"for_whom": "x" * 201}),
        ("notes", {"notes": "x" * 5001}),
        ("due_on", {"due_on": date(2101, 1, 1)}),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(field: str, wrong: dict[str, Any]) -> None:
    assert refused(**wrong)[0] == field


@pytest.mark.parametrize("due_on", [TODAY, date(2026, 3, 1)])
def test_an_order_in_the_past_is_refused(due_on: date) -> None:
    field, sentence = refused(due_on=due_on)
    assert field == "due_on"
    assert "give a day after today" in sentence


def test_an_order_that_is_corrected_may_keep_its_past_day() -> None:
    past = replace(ENTRY, due_on=date(2026, 3, 1))
    assert accepted_order(past, today=TODAY, due_before=past.due_on) == past


def test_limits_are_taken() -> None:
    entry = replace(ENTRY, sure_share=0.5, per_place=20, enough_per_place=20, ready_share=1.0)
    assert accepted_order(entry, today=TODAY) == entry


def test_sureness_in_words() -> None:
    assert [sure_words(share) for share in (0.9, 0.975)] == ["90 %", "97.5 %"]
