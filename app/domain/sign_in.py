"""How long a sign-in lasts, and how long to wait after wrong tries.

The wait doubles after five wrong tries with one name from one address. Many wrong tries with one
name from anywhere, or from one address with any names, slow down a little as well, but never so
much that somebody could shut a colleague out. Nothing is ever locked for good.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

SESSION_IDLE: Final = timedelta(hours=12)
SEEN_EVERY: Final = timedelta(minutes=5)
CODE_LASTS: Final = timedelta(minutes=60)
REMEMBERED: Final = timedelta(hours=24)

FREE_TRIES: Final = 5
FREE_TRIES_OVERALL: Final = 20
FIRST_WAIT: Final = timedelta(seconds=2)
LONGEST_WAIT: Final = timedelta(minutes=15)
LONGEST_WAIT_OVERALL: Final = timedelta(minutes=1)
_DOUBLINGS_THAT_MATTER: Final = 20


@dataclass(frozen=True, kw_only=True)
class WrongTries:
    """How many wrong tries there were since the last right one, and when the newest was."""

    number: int
    newest_at: datetime | None


def free_again_at(
    *, pair: WrongTries, by_name: WrongTries, by_address: WrongTries
) -> datetime | None:
    """Return the instant from which a try counts again, or None if it counts at once.

    `pair` are the tries with this name from this address, the others those with the name from
    anywhere and those from the address with any name.
    """
    waits = [
        _free_again(pair, free=FREE_TRIES, longest=LONGEST_WAIT),
        _free_again(by_name, free=FREE_TRIES_OVERALL, longest=LONGEST_WAIT_OVERALL),
        _free_again(by_address, free=FREE_TRIES_OVERALL, longest=LONGEST_WAIT_OVERALL),
    ]
    return max((wait for wait in waits if wait is not None), default=None)


def wait_in_words(until: datetime, *, now: datetime) -> str:
    """Return how long is left, such as "8 seconds" or "2 minutes", always rounded up."""
    seconds = max(1, -((now - until) // timedelta(seconds=1)))
    if seconds <= 90:
        return "1 second" if seconds == 1 else f"{seconds} seconds"
    return f"{-(-seconds // 60)} minutes"


def is_idle(*, seen_at: datetime, now: datetime) -> bool:
    """Return whether a session seen last at that instant has run out."""
    return now - seen_at > SESSION_IDLE


def _free_again(tries: WrongTries, *, free: int, longest: timedelta) -> datetime | None:
    if tries.newest_at is None or tries.number < free:
        return None
    doublings = min(tries.number - free, _DOUBLINGS_THAT_MATTER)
    wait: timedelta = min(FIRST_WAIT * 2**doublings, longest)
    return tries.newest_at + wait
