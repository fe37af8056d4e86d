"""Stays on benches: from the day something was put there up to, not including, the day it left."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, kw_only=True)
class StayOnBench:
    """A stay of a batch, of so many of its trays (None: of all), or of a stock plant."""

    from_on: date
    to_on: date | None
    trays: int | None = None

    def is_there(self, day: date) -> bool:
        """Return whether it stands there on a day; on the day it leaves it stands elsewhere."""
        return self.from_on <= day and (self.to_on is None or day < self.to_on)


def stay_faults(stays: Sequence[StayOnBench], *, trays: int | None) -> Iterator[str]:
    """Yield what cannot be about the stays of one batch of so many trays, or of a stock plant.

    What stands whole stands alone, and never do more trays stand than there are. Fewer may: some
    were taken off the benches.
    """
    for stay in stays:
        if stay.to_on is not None and stay.to_on < stay.from_on:
            yield f"A stay from {stay.from_on} ends before that, on {stay.to_on}."
    for day in sorted({stay.from_on for stay in stays}):
        there = [stay for stay in stays if stay.is_there(day)]
        if len(there) > 1 and any(stay.trays is None for stay in there):
            yield f"On {day} it stands whole on one bench and also elsewhere."
            continue
        standing = sum(stay.trays or 0 for stay in there)
        if trays is not None and standing > trays:
            yield f"On {day} {standing} of its trays stand on benches, but it has {trays}."
