"""What Today says of stock plants: the next inspection that is due, and tests that run out."""

from datetime import date, timedelta
from typing import Final

from app.domain.days import day_short

MOST_TO_SEE: Final = 12
"""So many stock plants are told on Today, those whose day comes first."""

INSPECT_AHEAD: Final = timedelta(days=7)
TEST_AHEAD: Final = timedelta(days=30)
TEST_BEHIND: Final = timedelta(days=60)
"""So long after a test ran out Today still names it; then only the list of those watched does."""


def running_out_words(tested_until: date | None, *, today: date) -> str:
    """Return that a test runs out or ran out, "" where it is not near."""
    if tested_until is None or not today - TEST_BEHIND <= tested_until <= today + TEST_AHEAD:
        return ""
    ran = "ran out" if tested_until < today else "runs out"
    return f"the test {ran} on {day_short(tested_until, today=today)}: have it tested again"
