"""Whether cuttings may be taken from a stock plant."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from app.domain.people import Role
from app.domain.source_plants import Moment, SourcePlant, source_advisories, source_problems

TODAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
FIT = SourcePlant(place=0, code="S-0031", name="Hebe 'Great Orme'", state="fit to cut")
ON_HOLD = replace(FIT, state="on hold", state_reason="leaf spots")


def refused(plant: SourcePlant, role: Role, hold_reason: str = "") -> list[tuple[str, str]]:
    return refused_on(TODAY, plant, role=role, hold_reason=hold_reason)


def refused_on(
    day: date, plant: SourcePlant, role: Role = Role.HEAD, hold_reason: str = ""
) -> list[tuple[str, str]]:
    moment = Moment(now=NOW, today=TODAY, zone="Europe/London")
    found = source_problems(
        [plant], taken_on=day, role=role, hold_reason=hold_reason, moment=moment
    )
    return [(problem.field, problem.sentence) for problem in found]


def minded(plant: SourcePlant) -> list[str]:
    return [advisory.sentence for advisory in source_advisories([plant], taken_on=TODAY)]


@pytest.mark.parametrize("state", ["fit to cut", "resting", "watched"])
def test_a_plant_that_is_not_on_hold_may_be_cut(state: str) -> None:
    assert refused(replace(FIT, state=state), Role.TRAINEE) == []


def test_a_plant_on_hold_is_for_the_head_with_a_reason() -> None:
    ((field, sentence),) = refused(ON_HOLD, Role.TRAINEE, "never mind")
    assert field == "sources-0-stock_plant"
    assert "S-0031 is on hold: leaf spots." in sentence
    assert "Ask the head propagator" in sentence
    ((field, sentence),) = refused(ON_HOLD, Role.HEAD, " ")
    assert field == "hold_reason"
    assert refused(ON_HOLD, Role.HEAD, "tested clean on Monday") == []


def test_nothing_is_taken_from_a_plant_after_it_was_discarded() -> None:
    gone = replace(FIT, state="discarded", discarded_on=TODAY - timedelta(days=1))
    ((_, sentence),) = refused(gone, Role.HEAD, "because")
    assert "was discarded on Tue 24 November 2026" in sentence
    assert refused(replace(gone, discarded_on=TODAY), Role.TRAINEE) == []


def test_a_fit_plant_needs_no_word() -> None:
    assert minded(FIT) == []


def test_what_the_record_of_a_plant_says_is_minded() -> None:
    assert minded(replace(FIT, state="resting")) == ["S-0031 is resting."]
    assert minded(ON_HOLD) == ["S-0031 is on hold: leaf spots"]
    assert "in flower" in minded(replace(FIT, flowering=True))[0]
    assert "another plant name" in minded(replace(FIT, same_name=False))[0]


def test_rest_between_cuts() -> None:
    cut = replace(FIT, rest_weeks=6, cut_before_on=TODAY - timedelta(weeks=2))
    assert minded(cut) == [
        "S-0031 was cut on Wed 11 November 2026 and is to rest 6 weeks, until Wed 23 December 2026."
    ]
    assert minded(replace(cut, cut_before_on=TODAY - timedelta(weeks=6))) == []
    assert minded(replace(cut, cut_before_on=TODAY)) == []


def test_nobody_takes_cuttings_while_a_re_entry_time_runs() -> None:
    # That the time on the label is kept by everybody: common practice, no source.
    treated = replace(FIT, reentry_at=NOW + timedelta(hours=5, minutes=30))
    for role in Role:
        ((field, sentence),) = refused(treated, role, hold_reason="it looks dry")
        assert field == "sources-0-stock_plant"
        assert "nobody is to work among it before 14:30 on Wed 25 November 2026" in sentence
        assert "product label" in sentence
    assert refused(replace(FIT, reentry_at=NOW), Role.TRAINEE) == []


def test_what_was_taken_before_the_treatment_is_logged() -> None:
    yesterday = TODAY - timedelta(days=1)
    until_tomorrow = replace(FIT, reentry_at=NOW + timedelta(days=1))
    assert refused_on(yesterday, until_tomorrow) == []
    assert refused_on(yesterday, replace(until_tomorrow, treated_on=yesterday)) == []
    since = yesterday - timedelta(days=1)
    assert len(refused_on(yesterday, replace(until_tomorrow, treated_on=since))) == 1
