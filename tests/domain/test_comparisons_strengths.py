"""Which strengths are looked at together."""

import pytest

from app.domain.comparisons_questions import ComparisonQuestion, Factor
from app.domain.comparisons_strengths import strengths_of
from app.domain.strike_rates_questions import RateQuestion

LEVELS = (
    "IBA quick dip 2000 ppm",
    "IBA talc 1000 ppm",
    "IBA talc 3000 ppm",
    "IBA talc 8000 ppm",
    "no hormone",
    "not recorded",
)


def ask(one: str, other: str, factor: Factor = Factor.HORMONE) -> ComparisonQuestion:
    return ComparisonQuestion(factor=factor, one=one, other=other, asked=RateQuestion())


@pytest.mark.parametrize(
    ("one", "other"), [("IBA talc 3000 ppm", "no hormone"), ("no hormone", "IBA talc 3000 ppm")]
)
def test_all_strengths_of_the_form_against_none(one: str, other: str) -> None:
    found = strengths_of(ask(one, other), levels=LEVELS)
    assert found is not None
    assert found.base == "no hormone"
    assert found.levels == ("IBA talc 1000 ppm", "IBA talc 3000 ppm", "IBA talc 8000 ppm")


def test_two_strengths_are_held_against_the_second() -> None:
    found = strengths_of(ask("IBA talc 8000 ppm", "IBA talc 3000 ppm"), levels=LEVELS)
    assert found is not None
    assert found.base == "IBA talc 3000 ppm"
    assert found.levels == ("IBA talc 1000 ppm", "IBA talc 8000 ppm")


def test_one_strength_needs_no_correction() -> None:
    assert strengths_of(ask("IBA quick dip 2000 ppm", "no hormone"), levels=LEVELS) is None
    assert strengths_of(ask("not recorded", "no hormone"), levels=LEVELS) is None
    assert strengths_of(ask("Bark", "Peat", Factor.MIX), levels=("Bark", "Peat")) is None


def test_a_method_keeps_its_cutting_type() -> None:
    levels = (
        "semi-ripe, IBA talc 1000 ppm",
        "semi-ripe, IBA talc 3000 ppm",
        "hardwood, IBA talc 8000 ppm",
        "semi-ripe, no hormone",
    )
    found = strengths_of(
        ask("semi-ripe, IBA talc 1000 ppm", "semi-ripe, no hormone", Factor.METHOD), levels=levels
    )
    assert found is not None
    assert found.levels == levels[:2]
