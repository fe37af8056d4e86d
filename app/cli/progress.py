"""Saying how far a long command has come: in words, every few seconds."""

import time
from typing import Final

from app.cli.context import Context

EVERY_S: Final = 2.0


class Progress:
    """Says the newest sentence once some seconds have passed since the last."""

    def __init__(self, context: Context, *, every_s: float = EVERY_S) -> None:
        self._context = context
        self._every_s = every_s
        self._said_at = time.monotonic()

    def __call__(self, sentence: str) -> None:
        """Say the sentence if the last one was said long enough ago."""
        now = time.monotonic()
        if now - self._said_at >= self._every_s:
            self._said_at = now
            self._context.remark(sentence)
