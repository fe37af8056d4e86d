"""The only reader of the system clock. Entry points read it once and hand the values on."""

from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Protocol
from zoneinfo import ZoneInfo


class Clock(Protocol):
    """Where an entry point gets the instant from."""

    def now(self) -> datetime:
        """Return the present instant, aware, in UTC."""
        ...


@dataclass(frozen=True)
class SystemClock:
    """The clock of this PC."""

    def now(self) -> datetime:
        """Return the present instant, aware, in UTC."""
        return datetime.now(UTC)


@dataclass
class FixedClock:
    """A clock that stands still until it is set; for tests and for telling the demo's story."""

    instant: datetime

    def now(self) -> datetime:
        """Return the instant the clock was set to."""
        return self.instant


def local_date(instant: datetime, *, zone: str) -> date:
    """Return the nursery's calendar day of an aware instant in the zone named as in IANA's list."""
    return instant.astimezone(ZoneInfo(zone)).date()
