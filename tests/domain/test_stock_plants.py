"""When a stock plant rests, and what wants seeing to."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.problems import NotAccepted
from app.domain.stock_plants import (
    Origin,
    StateToday,
    StockPlantEntry,
    StockPlantState,
    accepted_stock_plant,
    state_on,
    stock_plant_remarks,
)
from tests.conftest import NOW, TODAY

PLANT = StockPlantEntry(plant_name_id=1)
CUT_ON = date(2026, 11, 2)


@pytest.mark.parametrize(
    ("day", "state", "until"),
    [
        (date(2026, 11, 29), StockPlantState.RESTING, date(2026, 11, 29)),
        (date(2026, 11, 30), StockPlantState.FIT, None),  # four weeks after the 2nd
    ],
)
def test_a_fit_plant_rests_for_its_weeks(
    day: date, state: StockPlantState, until: date | None
) -> None:
    standing = state_on(day, state=StockPlantState.FIT, rest_weeks=4, last_cut_on=CUT_ON)
    reason = "cut on Mon 2 Nov, 4 weeks of rest" if state is StockPlantState.RESTING else ""
    assert standing == StateToday(state=state, until=until, reason=reason)


@given(
    day=st.dates(date(2020, 1, 1), date(2030, 1, 1)),
    weeks=st.none() | st.integers(0, 104),
    cut_on=st.none() | st.dates(date(2020, 1, 1), date(2030, 1, 1)),
    state=st.sampled_from(list(StockPlantState)),
)
def test_only_a_fit_plant_changes_its_state_by_itself(
    day: date, weeks: int | None, cut_on: date | None, state: StockPlantState
) -> None:
    standing = state_on(day, state=state, reason="r", rest_weeks=weeks, last_cut_on=cut_on)
    if standing.state is not state:
        assert (state, standing.state) == (StockPlantState.FIT, StockPlantState.RESTING)
        assert standing.until is not None
        assert standing.until >= day


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"plants": 0}, "plants"),
        ({"plants": 100_001}, "plants"),
        ({"rest_weeks": 105}, "rest_weeks"),
        ({"expected_per_plant": 0.0}, "expected_per_plant"),
        ({"came_on": TODAY + timedelta(days=1)}, "came_on"),
        ({"cut_back_on": TODAY + timedelta(days=1)}, "cut_back_on"),
        ({"true_to_type_on": TODAY + timedelta(days=1)}, "true_to_type_on"),
        ({"state": StockPlantState.DISCARDED}, "state"),
        ({"state": StockPlantState.ON_HOLD, "state_reason": "  "}, "state_reason"),
        ({"raised_from_id": 4, "origin": Origin.GIVEN}, "raised_from"),
        ({"supplier": "x" * 201}, "supplier"),
        ({"notes": "x" * 5_001}, "notes"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(more: dict[str, object], field: str) -> None:
    with pytest.raises(NotAccepted) as refused:
        accepted_stock_plant(replace(PLANT, **more), today=TODAY)  # type: ignore[arg-type]
    assert [problem.field for problem in refused.value.problems] == [field]


def test_texts_are_tidied() -> None:
    tidy = accepted_stock_plant(
        replace(PLANT, supplier=" Holm  Nurseries ", notes=" by the door "), today=TODAY
    )
    assert (tidy.supplier, tidy.notes) == ("Holm Nurseries", "by the door")


def test_what_wants_seeing_to_is_said_on_its_day() -> None:
    def remarks(**more: object) -> list[str]:
        return list(
            stock_plant_remarks(replace(PLANT, **more), today=TODAY, now=NOW, zone="Europe/Berlin")
        )  # type: ignore[arg-type]

    hour, day = timedelta(hours=1), timedelta(days=1)
    assert remarks() == []
    # 10:00 UTC on a day in winter is 11:00 in Berlin.
    (reentry,) = remarks(reentry_at=NOW + hour)
    assert "before 11:00 on Wed 25 November 2026" in reentry
    assert "product label" in reentry
    assert remarks(reentry_at=NOW) == []
    assert "tested again" in remarks(tested_until=TODAY - day)[0]
    assert remarks(tested_until=TODAY, renew_by=TODAY) == []
    assert "renewed" in remarks(renew_by=TODAY - day)[0]
