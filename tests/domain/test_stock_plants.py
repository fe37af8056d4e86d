"""What is entered of a stock plant."""

from dataclasses import replace
from datetime import timedelta

import pytest

from app.domain.problems import NotAccepted
from app.domain.stock_plants import (
    Origin,
    StockPlantEntry,
    StockPlantState,
    accepted_stock_plant,
)
from tests.conftest import TODAY

PLANT = StockPlantEntry(plant_name_id=1)


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
