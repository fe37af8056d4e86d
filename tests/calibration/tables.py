"""Claims and the small tables they print, in the form docs/methods.md quotes."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Table:
    """A heading, names of columns, and rows of cells already in words."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def __str__(self) -> str:
        """Return the table as lines of Markdown."""
        lines = [self.columns, tuple("---" for _ in self.columns), *self.rows]
        return "\n".join([self.title, "", *("| " + " | ".join(row) + " |" for row in lines)])


@dataclass(frozen=True, kw_only=True)
class Claim:
    """A name, what it shows in a sentence, the usual number of runs, and how to make it.

    `make(runs, seed)` yields its tables as they are ready.
    """

    name: str
    shows: str
    runs: int
    make: Callable[[int, int], Iterator[Table]]


def percent(share: float, *, decimals: int = 0) -> str:
    """Return a share 0 to 1 as a percentage without its sign; a dash where it is not known."""
    return "-" if share != share else f"{100.0 * share:.{decimals}f}"


def points(share: float) -> str:
    """Return a difference of shares in points, signed, one decimal."""
    return "-" if share != share else f"{100.0 * share:+.1f}"
