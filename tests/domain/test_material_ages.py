"""Material kept too long between taking and sticking: common practice, no source."""

from datetime import date, timedelta

import pytest

from app.domain.batches import BatchEntry
from app.domain.cutting_types import CuttingType
from app.domain.material_ages import age_advisories

TODAY = date(2026, 6, 25)
PLAIN = {"plant_name_id": 1, "stuck_on": TODAY, "stuck": 96}


def said(cutting_type: CuttingType | None, **more: object) -> list[tuple[str, str]]:
    entry = BatchEntry(cutting_type=cutting_type, **PLAIN, **more)  # type: ignore[arg-type]
    return [(each.field, each.sentence) for each in age_advisories(entry)]


@pytest.mark.parametrize(
    ("cutting_type", "hours"),
    [
        (CuttingType.SOFTWOOD, 24),
        (CuttingType.SEMI_RIPE, 72),
        (CuttingType.HARDWOOD, 2016),
    ],
)
def test_by_type(cutting_type: CuttingType, hours: float) -> None:
    assert said(cutting_type, stored_hours=hours) == []
    ((field, sentence),) = said(cutting_type, stored_hours=hours + 1)
    assert field == "stored_hours"
    assert "usually stuck within" in sentence


def test_the_days_count_where_no_hours_are_said() -> None:
    yesterday = TODAY - timedelta(days=1)
    assert said(CuttingType.SOFTWOOD, taken_on=yesterday) == []
    ((field, sentence),) = said(CuttingType.SOFTWOOD, taken_on=TODAY - timedelta(days=3))
    assert field == "taken_on"
    assert sentence == "Kept 3 days: softwood is usually stuck within 24 hours, later it wilts."
    # What was written down in hours is what it was.
    assert said(CuttingType.SOFTWOOD, taken_on=TODAY - timedelta(days=3), stored_hours=20) == []


def test_nothing_is_said_of_what_is_not_known() -> None:
    assert said(CuttingType.SOFTWOOD) == []
    assert said(None, stored_hours=500) == []
    ((_, sentence),) = said(CuttingType.HARDWOOD, stored_hours=24 * 7 * 15)
    assert sentence.startswith("Kept 15 weeks: hardwood is usually stuck within 12 weeks")
