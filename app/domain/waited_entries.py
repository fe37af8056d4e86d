"""Entries that waited on a device until the log received them: when each was made, as it claims.

A device says how long an entry has waited, not what its clock shows, so that a clock that is wrong
does no harm. A claim that cannot be believed is kept, marked and limited, and moves no day.
"""

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from app.domain.days import day_short

TOLD_FROM: Final = timedelta(minutes=1)
BELIEVED_UP_TO: Final = timedelta(days=31)
FARTHEST: Final = timedelta(days=366)
_MARK: Final = re.compile(r"[A-Z]{2}-[0-9]{1,4}")


@dataclass(frozen=True, kw_only=True)
class WaitedEntry:
    """One entry that waited; `mark` is what stood on its label meanwhile, "" for nothing."""

    recorded_at: datetime
    received_at: datetime
    doubtful: bool = False
    mark: str = ""

    def words(self, *, zone: str) -> str:
        """Return when it was recorded and received, by the nursery's clock."""
        recorded, received = (
            at.astimezone(ZoneInfo(zone)) for at in (self.recorded_at, self.received_at)
        )
        same_day = recorded.date() == received.date()
        if self.doubtful:
            day = "" if same_day else f"{day_short(received.date(), today=recorded.date())}, "
            claim = f"{day_short(recorded.date(), today=received.date())}, {recorded:%H:%M}"
            return f"received {day}{received:%H:%M}; the device says {claim}, which may be wrong"
        if same_day:
            return f"recorded {recorded:%H:%M} on a device, received {received:%H:%M}"
        days = [day_short(at.date(), today=received.date()) for at in (recorded, received)]
        return (
            f"recorded {days[0]}, {recorded:%H:%M} on a device, received {days[1]}, "
            f"{received:%H:%M}"
        )


def waited_entry(typed_s: str, *, mark: str, now: datetime) -> WaitedEntry | None:
    """Return what a device says of an entry that arrives now, None where it did not wait.

    `typed_s` is how many seconds it waited, as sent; what is no number counts as not having waited.
    A mark that is none of ours is left out.
    """
    mark = mark if _MARK.fullmatch(mark) else ""
    if not re.fullmatch(r"-?[0-9]{1,12}", typed_s):
        return None
    waited = timedelta(seconds=int(typed_s))
    doubtful = waited < -TOLD_FROM or waited > BELIEVED_UP_TO
    if not doubtful and waited < TOLD_FROM and not mark:
        return None
    limited = max(-FARTHEST, min(waited, FARTHEST)) if doubtful else max(waited, timedelta(0))
    return WaitedEntry(recorded_at=now - limited, received_at=now, doubtful=doubtful, mark=mark)
