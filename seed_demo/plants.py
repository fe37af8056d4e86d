"""What the invented nursery propagates: each line of plants.csv a plant and how it usually goes.

Rates and times are invented, set where a propagator would expect them (common practice, no
source).
"""

import csv
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from app.domain.cutting_types import CuttingType

_FILE: Final = Path(__file__).with_name("plants.csv")
_MONTHS: Final = 12


@dataclass(frozen=True, kw_only=True)
class Habit:
    """How one plant is propagated here.

    `months` are those of sticking; `rate` is the usual share that roots, `weeks` the usual time
    to root, `batches` how many a year, each of `trays` from the one number to the other.
    `hormones` and `mixes` take turns where there are two. `stock_plants` is how many rows of
    mother plants there are, 0 where cuttings are bought in. `lost_to` takes most of those that
    do not root. `hormone_shift` and `mix_shift` are by how much the second hormone or mix shifts
    the log-odds of rooting.
    """

    name: str
    cutting_type: CuttingType
    months: tuple[int, ...]
    rate: float
    weeks: float
    batches: int
    trays: tuple[int, int]
    bench: str
    hormones: tuple[str, ...]
    mixes: tuple[str, ...]
    container: str
    stock_plants: int
    lost_to: str
    hormone_shift: float
    mix_shift: float


def read_habits(path: Path = _FILE) -> tuple[Habit, ...]:
    """Return every plant of the list in its order."""
    with path.open(encoding="utf-8", newline="") as file:
        return tuple(_habit(row) for row in csv.DictReader(file))


def _habit(row: dict[str, str]) -> Habit:
    return Habit(
        name=row["name"],
        cutting_type=CuttingType(row["cutting_type"]),
        months=_months(row["months"]),
        rate=float(row["rate"]),
        weeks=float(row["weeks"]),
        batches=int(row["batches"]),
        trays=(int(row["trays_low"]), int(row["trays_high"])),
        bench=row["bench"],
        hormones=tuple(row["hormones"].split("|")),
        mixes=tuple(row["mixes"].split("|")),
        container=row["container"],
        stock_plants=int(row["stock_plants"]),
        lost_to=row["lost_to"],
        hormone_shift=float(row["hormone_shift"]),
        mix_shift=float(row["mix_shift"]),
    )


def _months(text: str) -> tuple[int, ...]:
    """Return the months of "8-10" or, over the turn of the year, of "11-2"."""
    first, last = (int(part) for part in text.split("-"))
    length = (last - first) % _MONTHS + 1
    return tuple((first - 1 + step) % _MONTHS + 1 for step in range(length))
