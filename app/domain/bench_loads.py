"""How full a bench is: the trays that stand there against the room for them. A warning, no bar."""

from dataclasses import dataclass

FULL_PERCENT = 100


@dataclass(frozen=True, kw_only=True)
class BenchLoad:
    """Trays on a bench on a day, and the room there, None where nobody counted it.

    `uncounted` is how many batches stand there whose trays are not recorded, `uncounted_lots` how
    many liner lots: they take room too.
    """

    trays: int
    room: int | None
    uncounted: int = 0
    uncounted_lots: int = 0

    @property
    def is_over(self) -> bool:
        """Whether more trays stand there than have room."""
        return self.room is not None and self.trays > self.room

    @property
    def percent(self) -> int | None:
        """How much of the room is taken, 0 to 100 and no more; None where it is not known."""
        if not self.room:
            return None
        return min(FULL_PERCENT, round(FULL_PERCENT * self.trays / self.room))

    @property
    def words(self) -> str:
        """The load in words, such as "20 of 24 trays, room for 4 more"."""
        if self.room is None:
            told = f"{_trays(self.trays)}, room not recorded"
        elif self.is_over:
            told = f"{self.trays:,} of {_trays(self.room)}, {self.trays - self.room:,} too many"
        else:
            told = (
                f"{self.trays:,} of {_trays(self.room)}, room for {self.room - self.trays:,} more"
            )
        more = []
        if self.uncounted:
            more.append(f"{self.uncounted:,} {_batches(self.uncounted)}")
        if self.uncounted_lots:
            more.append(f"{self.uncounted_lots:,} liner {_lots(self.uncounted_lots)}")
        if more:
            told += f"; {' and '.join(more)} without a number of trays"
        return told

    def warning(self, bench: str) -> str:
        """Return the sentence that warns of too many trays, "" where there is room."""
        if self.room is None or not self.is_over:
            return ""
        return f"{bench} now holds {_trays(self.trays)}; there is room for {self.room:,}."


def _trays(number: int) -> str:
    return f"{number:,} {'tray' if number == 1 else 'trays'}"


def _lots(number: int) -> str:
    return "lot" if number == 1 else "lots"


def _batches(number: int) -> str:
    return "batch" if number == 1 else "batches"
