"""What may be compared, by whom, and how its levels are spelled."""

import pytest

from app.domain.comparisons_questions import (
    Factor,
    accepted_comparison,
    factors_for,
    parse_factor,
)
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import RateFilter, RateQuestion


def only(key: RateKey, value: str) -> RateFilter:
    return RateFilter(key=key, value=value)


def test_a_hormone_is_compared_where_nothing_is_said(head: Actor) -> None:
    assert parse_factor(" ", actor=head) is Factor.HORMONE
    assert parse_factor("bottom_heat", actor=head) is Factor.BOTTOM_HEAT


def test_an_unknown_factor_is_answered_with_those_there_are(head: Actor) -> None:
    with pytest.raises(NotAccepted) as refused:
        parse_factor("moon", actor=head)
    assert "hormone" in refused.value.problems[0].sentence
    assert refused.value.problems[0].field == "by"


def test_a_trainee_compares_no_people(trainee: Actor, manager: Actor) -> None:
    assert Factor.PERSON not in factors_for(trainee)
    assert Factor.PERSON in factors_for(manager)
    with pytest.raises(NotAccepted, match="yourself only"):
        parse_factor("person", actor=trainee)


def test_the_same_level_twice_is_refused() -> None:
    with pytest.raises(NotAccepted) as refused:
        accepted_comparison(Factor.MIX, one="Bark", other="bark", asked=RateQuestion())
    assert refused.value.problems[0].field == "other"


@pytest.mark.parametrize(
    ("factor", "key"), [(Factor.MIX, RateKey.MIX), (Factor.SEASON, RateKey.MONTH)]
)
def test_batches_narrowed_by_what_is_compared_are_refused(factor: Factor, key: RateKey) -> None:
    asked = RateQuestion(where=(only(key, "4"),))
    with pytest.raises(NotAccepted) as refused:
        accepted_comparison(factor, one="x", other="y", asked=asked)
    assert refused.value.problems[0].field == key.value


def test_a_season_is_its_three_months() -> None:
    question = accepted_comparison(
        Factor.SEASON, one="April to June", other="July to September", asked=RateQuestion()
    )
    assert [each.value for each in question.level_filters("april to june")] == ["4", "5", "6"]
    with pytest.raises(NotAccepted, match="no season"):
        question.level_filters("summer")


def test_one_genus_leans_on_the_others() -> None:
    asked = RateQuestion(where=(only(RateKey.GENUS, "Hebe"), only(RateKey.YEAR, "2026")))
    question = accepted_comparison(Factor.MIX, one="a", other="b", asked=asked)
    assert question.genus == "Hebe"
    assert question.with_all_genera.asked.where == (only(RateKey.YEAR, "2026"),)
    two = RateQuestion(where=(only(RateKey.GENUS, "Hebe"), only(RateKey.GENUS, "Salix")))
    assert accepted_comparison(Factor.MIX, one="a", other="b", asked=two).genus == ""
    plant = RateQuestion(where=(only(RateKey.GENUS, "Hebe"), only(RateKey.PLANT, "Hebe x")))
    assert accepted_comparison(Factor.MIX, one="a", other="b", asked=plant).genus == ""


def test_levels_in_words() -> None:
    def said(factor: Factor, level: str) -> str:
        return accepted_comparison(
            factor, one=level, other="another", asked=RateQuestion()
        ).level_words(level)

    assert said(Factor.MONTH, "4") == "April"
    assert said(Factor.BOTTOM_HEAT, "20") == "20 °C"
    assert said(Factor.HORMONE, "not recorded") == "hormone not recorded"
    assert said(Factor.SEASON, "April to June") == "April to June"
