"""Saying how far a long command has come: in words, every few seconds."""

import time
from collections.abc import Callable

EVERY_S = 2.0


class Progress:
    """Says the newest sentence once some seconds have passed since the last."""

    def __init__(self, say: Callable[[str], None], *, every_s: float | None = None) -> None:
        self._say = say
        self._every_s = EVERY_S if every_s is None else every_s
        self._said_at = time.monotonic()

    def __call__(self, sentence: str) -> None:
        """Say the sentence if the last one was said long enough ago."""
        now = time.monotonic()
        if now - self._said_at >= self._every_s:
            self._said_at = now
            self._say(sentence)
