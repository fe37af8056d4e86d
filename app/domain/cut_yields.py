"""What each cut of a stock plant gave, per plant, beside what was expected of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import fmean


@dataclass(frozen=True, kw_only=True)
class CutYield:
    """One day of cutting: cuttings from so many plants as there were then.

    `number` is None where no batch of that day says how many came from here.
    """

    cut_on: date
    number: int | None
    plants: int

    @property
    def per_plant(self) -> float | None:
        """Cuttings from a plant, None where the number is not recorded."""
        return None if self.number is None or not self.plants else self.number / self.plants


def yield_sentence(cuts: Sequence[CutYield], *, expected: float | None) -> str:
    """Return what the cuts on record gave from a plant, beside what is expected; "" for none."""
    known = [cut.per_plant for cut in cuts if cut.per_plant is not None]
    if not known:
        return ""
    beside = f"; {expected:g} are expected" if expected is not None else ""
    if len(known) == 1:
        return f"The one cut on record gave {_told(known[0])} cuttings from a plant{beside}."
    between = f"{_told(min(known))} to {_told(max(known))}"
    return (
        f"The {len(known):,} cuts on record gave {between} cuttings from a plant, "
        f"{_told(fmean(known))} on the average{beside}."
    )


def _told(value: float) -> str:
    return f"{round(value, 1):g}"
