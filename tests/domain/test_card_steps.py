"""Steps and troubles of a card are tidied, and what is half said is asked about by its line."""

import pytest

from app.domain.card_steps import (
    LONGEST_LINE,
    MOST_STEPS,
    MOST_TROUBLES,
    CardStep,
    CardTrouble,
    accepted_steps,
    accepted_troubles,
)
from app.domain.problems import NotAccepted


def test_blank_lines_are_left_out_and_the_rest_is_tidied() -> None:
    steps = (CardStep(step=" Cut  low. "), CardStep(step="", reason=" "), CardStep(step="Dip."))
    assert [one.step for one in accepted_steps(steps)] == ["Cut low.", "Dip."]
    troubles = (CardTrouble(what=""), CardTrouble(what=" Rot ", signs="soft\nbase"))
    assert accepted_troubles(troubles) == (CardTrouble(what="Rot", signs="soft base"),)


@pytest.mark.parametrize(
    ("steps", "field"),
    [
        ((CardStep(step="Cut."), CardStep(step="", reason="because")), "steps-1-step"),
        ((CardStep(step="x" * (LONGEST_LINE + 1)),), "steps-0-step"),
        ((CardStep(step="Cut.", reason="x" * (LONGEST_LINE + 1)),), "steps-0-reason"),
        (tuple(CardStep(step=f"Step {place}.") for place in range(MOST_STEPS + 1)), "steps"),
    ],
)
def test_what_a_step_may_not_be(steps: tuple[CardStep, ...], field: str) -> None:
    with pytest.raises(NotAccepted) as refused:
        accepted_steps(steps)
    assert [problem.field for problem in refused.value.problems] == [field]


@pytest.mark.parametrize(
    ("troubles", "field"),
    [
        ((CardTrouble(what="", signs="soft"),), "troubles-0-what"),
        ((CardTrouble(what="", do="throw out"),), "troubles-0-what"),
        ((CardTrouble(what="Rot", do="x" * (LONGEST_LINE + 1)),), "troubles-0-do"),
        (tuple(CardTrouble(what=f"No {n}") for n in range(MOST_TROUBLES + 1)), "troubles"),
    ],
)
def test_what_a_trouble_may_not_be(troubles: tuple[CardTrouble, ...], field: str) -> None:
    with pytest.raises(NotAccepted) as refused:
        accepted_troubles(troubles)
    assert [problem.field for problem in refused.value.problems] == [field]
