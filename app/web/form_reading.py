"""Reading several fields of a form so that every problem is told at once, each by its field."""

from collections.abc import Callable
from typing import TypeVar

from app.domain.measures import parse_measure
from app.domain.problems import NotAccepted, Problem

T = TypeVar("T")


class Reading:
    """Gathers what is refused while a form is read."""

    def __init__(self) -> None:
        self._problems: list[Problem] = []

    def of(self, read: Callable[[], T]) -> T | None:
        """Return what was read, None where it was refused."""
        try:
            return read()
        except NotAccepted as refusal:
            self._problems += refusal.problems
            return None

    def whole(
        self, typed: str | None, *, field: str, low: int, high: int, unit: str = ""
    ) -> int | None:
        """Return a whole number from `low` to `high`, None for a blank or where refused.

        The unit may be typed behind it.
        """
        value = self.of(
            lambda: parse_measure(typed or "", field=field, low=low, high=high, unit=unit)
        )
        if value is None:
            return None
        if value != int(value):
            sentence = f"Give a whole number, from {low:,} to {high:,}."
            self._problems.append(Problem(field=field, sentence=sentence))
            return None
        return int(value)

    @property
    def failed(self) -> bool:
        """Whether anything was refused."""
        return bool(self._problems)

    def refusal(self) -> NotAccepted:
        """Return everything that was refused, to be raised."""
        return NotAccepted(tuple(self._problems))
