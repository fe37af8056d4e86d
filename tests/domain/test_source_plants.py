"""Whether cuttings may be taken from a stock plant."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from app.domain.people import Role
from app.domain.source_plants import SourcePlant, source_advisories, source_problems

TODAY = date(2026, 11, 25)
FIT = SourcePlant(place=0, code="S-0031", name="Hebe 'Great Orme'", state="fit to cut")
ON_HOLD = replace(FIT, state="on hold", state_reason="leaf spots")


def refused(plant: SourcePlant, role: Role, hold_reason: str = "") -> list[tuple[str, str]]:
    found = source_problems([plant], taken_on=TODAY, role=role, hold_reason=hold_reason)
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
