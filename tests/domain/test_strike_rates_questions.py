"""Questions: what may be asked, by whom, and how the question reads."""

from datetime import date

import pytest

from app.domain.people import Actor, Role
from app.domain.problems import NotAccepted
from app.domain.strike_rates_keys import NOT_RECORDED, RateKey
from app.domain.strike_rates_questions import (
    DayOf,
    RateFilter,
    RateQuestion,
    Restuck,
    filter_words,
    parse_limit_day,
    parse_rate_filter,
    question_words,
    usual_day_of,
    within_own_sight,
)


def only(key: RateKey, value: str) -> RateFilter:
    return RateFilter(key=key, value=value)


def actor(role: Role) -> Actor:
    return Actor(person_id=7, person_key="k7", name="Tomas Quill", role=role)


@pytest.mark.parametrize(
    ("by", "sentence"),
    [
        ((RateKey.GENUS, RateKey.MONTH, RateKey.YEAR), "one or two names"),
        ((RateKey.GENUS, RateKey.GENUS), "Ask by genus once"),
    ],
)
def test_it_refuses_too_many_names(by: tuple[RateKey, ...], sentence: str) -> None:
    with pytest.raises(NotAccepted, match=sentence):
        RateQuestion(by=by)


def test_it_refuses_days_the_wrong_way_round() -> None:
    with pytest.raises(NotAccepted, match="not before the first, 2026-03-01"):
        RateQuestion(since=date(2026, 3, 1), until=date(2026, 2, 28))
    assert RateQuestion(since=date(2026, 3, 1), until=date(2026, 3, 1)).since


@pytest.mark.parametrize(
    ("typed", "key", "value"),
    [
        ("genus=Cistus", RateKey.GENUS, "Cistus"),
        ("plant = Erica = odd", RateKey.PLANT, "Erica = odd"),
        ("hormone=", RateKey.HORMONE, NOT_RECORDED),
    ],
)
def test_filters_are_typed_with_an_equals_sign(typed: str, key: RateKey, value: str) -> None:
    assert parse_rate_filter(typed) == only(key, value)


@pytest.mark.parametrize(
    ("typed", "sentence"), [("Cistus", "NAME=VALUE"), ("=Cistus", "no name"), ("x=1", "no name")]
)
def test_a_filter_it_cannot_read_is_refused(typed: str, sentence: str) -> None:
    with pytest.raises(NotAccepted, match=sentence):
        parse_rate_filter(typed)


@pytest.mark.parametrize(
    ("typed", "field", "day"),
    [
        ("", "since", None),
        ("2023", "since", date(2023, 1, 1)),
        ("2023", "until", date(2023, 12, 31)),
        ("1 apr", "since", date(2026, 4, 1)),
        ("2027-01-31", "until", date(2027, 1, 31)),
    ],
)
def test_first_and_last_days(typed: str, field: str, day: date | None) -> None:
    assert parse_limit_day(typed, today=date(2026, 11, 25), field=field) == day


@pytest.mark.parametrize("typed", ["0000", "soon", "31/4/2026"])
def test_a_day_it_cannot_read_is_refused(typed: str) -> None:
    with pytest.raises(NotAccepted) as refused:
        parse_limit_day(typed, today=date(2026, 11, 25), field="since")
    assert refused.value.problems[0].field == "since"


def test_hardwood_goes_by_the_month_of_taking() -> None:
    hardwood = only(RateKey.CUTTING_TYPE, "hardwood")
    method = only(RateKey.METHOD, "hardwood, no hormone")
    assert usual_day_of((hardwood,)) is DayOf.TAKEN
    assert usual_day_of((method, only(RateKey.GENUS, "Salix"))) is DayOf.TAKEN
    assert usual_day_of((hardwood, only(RateKey.CUTTING_TYPE, "softwood"))) is DayOf.STUCK
    assert usual_day_of(()) is DayOf.STUCK


def test_a_square_replaces_what_it_is_one_of() -> None:
    question = RateQuestion(
        by=(RateKey.GENUS,),
        where=(
            only(RateKey.GENUS, "Hebe"),
            only(RateKey.GENUS, "Cistus"),
            only(RateKey.BENCH, "A"),
        ),
        since=date(2026, 1, 1),
    )
    square = question.narrowed(only(RateKey.GENUS, "Hebe"))
    assert square.by == ()
    assert square.values_of(RateKey.GENUS) == ("Hebe",)
    assert square.values_of(RateKey.BENCH) == ("A",)
    assert square.since == date(2026, 1, 1)


def test_a_trainee_sees_figures_by_person_for_nobody_else() -> None:
    trainee = actor(Role.TRAINEE)
    by_person = RateQuestion(by=(RateKey.PERSON,))
    own = RateQuestion(where=(only(RateKey.PERSON, "tomas quill"),))
    others = RateQuestion(where=(only(RateKey.PERSON, "Ines Farrow"),))
    both = RateQuestion(where=(*own.where, *others.where))
    assert within_own_sight(by_person, actor=trainee).only_person_id == 7
    assert within_own_sight(own, actor=trainee).only_person_id == 7
    assert within_own_sight(RateQuestion(by=(RateKey.GENUS,)), actor=trainee).only_person_id is None
    for question in (others, both):
        with pytest.raises(NotAccepted, match="for yourself only"):
            within_own_sight(question, actor=trainee)


@pytest.mark.parametrize("role", [Role.HEAD, Role.MANAGER])
def test_head_and_manager_see_everybody(role: Role) -> None:
    question = RateQuestion(by=(RateKey.PERSON,), where=(only(RateKey.PERSON, "Ines Farrow"),))
    assert within_own_sight(question, actor=actor(role)) == question


def test_the_question_reads_as_a_sentence() -> None:
    question = RateQuestion(
        by=(RateKey.GENUS, RateKey.MONTH),
        where=(
            only(RateKey.MONTH, "4"),
            only(RateKey.CUTTING_TYPE, "softwood"),
            only(RateKey.CUTTING_TYPE, "semi-ripe"),
        ),
        since=date(2023, 1, 1),
        until=date(2024, 12, 31),
        day_of=DayOf.TAKEN,
        restuck=Restuck.ONLY,
    )
    assert question_words(question) == (
        "Strike rate by genus and month, cutting type softwood or semi-ripe, month April,"
        " taken since 1 January 2023, taken until 31 December 2024, by the day of taking,"
        " only batches re-stuck from another"
    )
    assert question_words(RateQuestion()) == "Strike rate"
    assert filter_words(question) == (
        "month April",
        "cutting type softwood",
        "cutting type semi-ripe",
    )
