"""Reading a day and a time of day from two boxes, by the nursery's clock."""

from datetime import UTC, date, datetime, time
from typing import Final
from zoneinfo import ZoneInfo

from app.domain.days import parse_day
from app.domain.problems import NotAccepted

_TIME: Final = 'Give a time of day such as "14:30".'


def read_instant(
    typed_day: str, typed_time: str, *, today: date, zone: str, field: str, ahead: bool = False
) -> datetime | None:
    """Return the instant in UTC, None where both boxes are blank.

    The boxes are called `field`_on and `field`_time; `ahead` says which way a day without its
    year is meant.

    Raises:
        NotAccepted: no day, no time, or one of them cannot be read, by its field.
    """
    typed_time = typed_time.strip()
    if not typed_day.strip():
        if typed_time:
            raise NotAccepted.at(f"{field}_on", "Give the day of this time too.")
        return None
    day = parse_day(typed_day, today=today, field=f"{field}_on", ahead=ahead)
    if not typed_time:
        raise NotAccepted.at(f"{field}_time", _TIME)
    try:
        at = time.fromisoformat(typed_time.replace(".", ":").zfill(5))
    except ValueError:
        raise NotAccepted.at(f"{field}_time", _TIME) from None
    local = datetime.combine(day, at.replace(tzinfo=None), tzinfo=ZoneInfo(zone))
    return local.astimezone(UTC)
