"""By what may be looked over, since when, and who sees whom."""

from datetime import date

import pytest

from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.domain.standouts_questions import StandoutBy, parse_standouts
from app.domain.strike_rates_questions import Restuck

TODAY = date(2026, 11, 25)


def test_people_of_the_last_two_years_where_nothing_is_said(head: Actor) -> None:
    found = parse_standouts("", since=None, until="", today=TODAY, actor=head)
    assert found.by is StandoutBy.PERSON
    assert found.asked.since == date(2024, 11, 25)
    assert found.asked.until is None
    assert found.asked.restuck is Restuck.WITHOUT
    assert found.only_person_id is None


def test_a_blank_first_day_means_all(head: Actor) -> None:
    found = parse_standouts("mix_lot", since="", until="2026", today=TODAY, actor=head)
    assert found.asked.since is None
    assert found.asked.until == date(2026, 12, 31)


def test_a_trainee_sees_the_own_line_only_but_all_benches(trainee: Actor, manager: Actor) -> None:
    own = parse_standouts("person", since=None, until="", today=TODAY, actor=trainee)
    assert own.only_person_id == trainee.person_id
    benches = parse_standouts("bench", since=None, until="", today=TODAY, actor=trainee)
    assert benches.only_person_id is None
    everybody = parse_standouts("person", since=None, until="", today=TODAY, actor=manager)
    assert everybody.only_person_id is None


@pytest.mark.parametrize(("by", "since", "field"), [("moon", "", "by"), ("mix", "soon", "since")])
def test_what_cannot_be_read_is_refused(head: Actor, by: str, since: str, field: str) -> None:
    with pytest.raises(NotAccepted) as refused:
        parse_standouts(by, since=since, until="", today=TODAY, actor=head)
    assert [problem.field for problem in refused.value.problems] == [field]
