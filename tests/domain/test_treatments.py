"""What is entered of a treatment, and the words shown with it.

The cautions: only trained users and the label first are common practice; that records are kept for
three years is FROM MEMORY (Regulation (EC) 1107/2009, Article 67), so it is said as a question.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from app.domain.problems import NotAccepted
from app.domain.treatments import (
    TreatmentEntry,
    TreatmentKind,
    accepted_treatment,
    is_running,
    local_day,
    reentry_words,
    treatment_cautions,
)

NOW = datetime(2026, 7, 1, 23, 30, tzinfo=UTC)
SPRAY = TreatmentEntry(
    kind=TreatmentKind.PLANT_PROTECTION,
    what="  Fungicide   as on its label ",
    rate="2 g in 10 litres",
    begun_at=NOW,
    reentry_at=NOW + timedelta(hours=12),
    bench_ids=(1,),
)


def test_an_entry_is_tidied_and_kept() -> None:
    kept = accepted_treatment(SPRAY, now=NOW)
    assert kept == replace(SPRAY, what="Fungicide as on its label")


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"what": " "}, "what"),
        ({"rate": ""}, "rate"),
        ({"bench_ids": ()}, "benches"),
        ({"begun_at": NOW + timedelta(minutes=1)}, "begun_time"),
        ({"reentry_at": NOW - timedelta(minutes=1)}, "reentry_time"),
        ({"reentry_at": NOW + timedelta(days=61)}, "reentry_on"),
        ({"target": "x" * 201}, "target"),
        ({"notes": "x" * 4001}, "notes"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(changes: dict[str, Any], field: str) -> None:
    with pytest.raises(NotAccepted) as caught:
        accepted_treatment(replace(SPRAY, **changes), now=NOW)
    assert [problem.field for problem in caught.value.problems] == [field]


def test_tools_are_disinfected_without_a_place_and_cleaning_without_a_rate() -> None:
    tools = replace(SPRAY, kind=TreatmentKind.TOOL_DISINFECTION, rate="", bench_ids=())
    assert accepted_treatment(tools, now=NOW).bench_ids == ()


def test_a_re_entry_time_runs_until_it_has_come() -> None:
    assert is_running(NOW + timedelta(seconds=1), now=NOW)
    assert not is_running(NOW, now=NOW)
    assert not is_running(None, now=NOW)


def test_times_are_by_the_nursery_s_clock() -> None:
    # British Summer Time is an hour before UTC: the treatment belongs to the next day.
    assert local_day(NOW, zone="Europe/London").isoformat() == "2026-07-02"
    words = reentry_words("Fungicide", reentry_at=NOW, where="Mist bench 2", zone="Europe/London")
    assert words.startswith("Keep out before 00:30 on Thu 2 July 2026: Fungicide, Mist bench 2.")
    assert "label and licensed practice come first" in words


def test_cautions_go_with_the_kind() -> None:
    works = {
        kind: [caution.work for caution in treatment_cautions(kind)]
        for kind in (TreatmentKind.PLANT_PROTECTION, TreatmentKind.MIST, None)
    }
    assert len(works[None]) == 2
    assert works[TreatmentKind.MIST] == ["Mist and heat"]
    (products,) = treatment_cautions(TreatmentKind.PLANT_PROTECTION)
    assert "Only trained users" in products.sentence
    assert "from memory" in products.standing
