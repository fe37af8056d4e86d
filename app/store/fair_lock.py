"""A first-come, first-served lock in front of SQLite's single writer.

SQLite's own waiting is by polling and starves some writers; with this lock in front they take
turns in the order they came.
"""

import threading
from collections import deque
from typing import Final

WAIT_S: Final = 30.0


class TooBusy(Exception):
    """The lock was not had within the time-out; nothing was written."""


class FairLock:
    """Mutual exclusion in order of arrival. Not re-entrant; any thread may release."""

    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._held = False
        self._waiting: deque[threading.Event] = deque()

    def acquire(self, *, timeout_s: float = WAIT_S) -> None:
        """Wait for the turn.

        Raises:
            TooBusy: the turn did not come within `timeout_s` seconds.
        """
        with self._guard:
            if not self._held and not self._waiting:
                self._held = True
                return
            turn = threading.Event()
            self._waiting.append(turn)
        if turn.wait(timeout_s):
            return
        with self._guard:
            if turn.is_set():
                # The turn came between the time-out and the guard: it is ours.
                return
            self._waiting.remove(turn)
        raise TooBusy("Too many people are saving at once. Nothing was saved; please try again.")

    def release(self) -> None:
        """Hand the lock to the one who has waited longest, or free it."""
        with self._guard:
            if self._waiting:
                self._waiting.popleft().set()
            else:
                self._held = False
