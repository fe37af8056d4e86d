"""A genus's rate over the last ten weeks, when most of its batches still wait.

Twelve batches finished earlier are all the nursery has learned from: the fewest that allow a
forecast.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator

from app.domain.nursery_fits import fit_nursery
from app.stats.histories import Histories
from app.stats.share_grids import Floats
from app.stats.trees import Ints
from tests.calibration.group_intervals import effective_intervals
from tests.calibration.pages import genus_rates, records_of
from tests.calibration.tables import Claim, Table, percent, points
from tests.calibration.tallies import Tally
from tests.simulated_nursery import (
    EARLY_ROT,
    LATE_DEATH,
    LINGERING,
    DeathHabit,
    Group,
    Habits,
    SimulatedBatches,
    share_in_time,
    simulate,
)

RATES: Final = (0.4, 0.8)
DEATHS: Final = {"early rot": EARLY_ROT, "late death": LATE_DEATH, "lingering": LINGERING}
BATCHES: Final = (6, 25)
WINDOW: Final = 70
LANDMARK: Final = 63
EARLIER: Final = 12
METHODS: Final = (
    "forecast",
    "rooted / stuck, all",
    "finished only",
    "rooted / (rooted + lost)",
    "landmark, 63 days",
)


@dataclass(frozen=True, kw_only=True)
class Nursery:
    """A simulated nursery of one genus: the log, and which batches the question is about."""

    batches: SimulatedBatches
    asked: Ints
    rate: float


def one_nursery(
    *,
    rate: float,
    death: DeathHabit,
    asked: int,
    rng: Generator,
    habits: Habits | None = None,
    earlier: int = EARLIER,
) -> Nursery:
    """Return `earlier` batches of finished age and `asked` of the last ten weeks."""
    ago = np.concatenate([rng.integers(90, 360, earlier), rng.integers(0, WINDOW + 1, asked)])
    group = Group(rate=rate, habit=death)
    batches = simulate(
        [group],
        group_of=np.zeros(len(ago), dtype=int),
        stuck_ago=ago,
        rng=rng,
        habits=habits,
    )
    return Nursery(
        batches=batches,
        asked=np.arange(earlier, len(ago)),
        rate=rate * share_in_time(group, habits=habits or Habits()),
    )


def forecast(nursery: Nursery) -> tuple[float, float, float] | None:
    """Return our estimate and both limits for the batches asked about, as the page shows them.

    None where too few batches are finished for one, as where many were cleared unrooted.
    """
    fit = fit_nursery(records_of(nursery.batches))
    return genus_rates(fit, nursery.batches, nursery.asked).get(0)


def simple_ratio(
    method: str, histories: Histories, asked: Ints, *, ages: Floats, correlation: float
) -> tuple[Floats, Floats, Floats] | None:
    """Return a simple ratio with Wilson's limits on effective cuttings, None if nothing is left."""
    rooted = histories.total(histories.onsets)[asked]
    sizes = histories.size[asked]
    kept = np.ones(len(asked), dtype=bool)
    if method == "finished only":
        kept = histories.waiting[asked] == 0
    elif method == "landmark, 63 days":
        kept = (histories.waiting[asked] == 0) | (histories.waiting_age[asked] >= LANDMARK)
        kept &= ages[asked] >= LANDMARK
    elif method == "rooted / (rooted + lost)":
        sizes = sizes - histories.waiting[asked]
        kept = sizes > 0
    if not kept.any():
        return None
    found = effective_intervals(
        rooted[kept],
        sizes=sizes[kept],
        groups=np.zeros(int(kept.sum()), dtype=int),
        correlation=correlation,
    )
    return found.shares, found.low, found.high


def tallies(
    *,
    rate: float,
    death: DeathHabit,
    asked: int,
    runs: int,
    rng: Generator,
    habits: Habits | None = None,
    methods: Sequence[str] = METHODS,
) -> dict[str, Tally]:
    """Return how each method does over so many nurseries."""
    chosen = habits or Habits()
    found = {method: Tally() for method in methods}
    for _ in range(runs):
        nursery = one_nursery(rate=rate, death=death, asked=asked, rng=rng, habits=chosen)
        for method, tally in found.items():
            answer = (
                forecast(nursery)
                if method == METHODS[0]
                else simple_ratio(
                    method,
                    nursery.batches.histories,
                    nursery.asked,
                    ages=nursery.batches.stuck_ago,
                    correlation=chosen.correlation,
                )
            )
            if answer is None:
                tally.add_nothing()
            else:
                tally.add(*answer, nursery.rate)
    return found


def make(runs: int, seed: int) -> Iterator[Table]:
    """Yield bias and coverage by rate, habit and number of batches."""
    rng = np.random.default_rng(seed)
    for rate in RATES:
        for asked in BATCHES:
            by_death = [
                tallies(rate=rate, death=death, asked=asked, runs=runs, rng=rng)
                for death in DEATHS.values()
            ]
            rows = [(method, *(cell(found[method]) for found in by_death)) for method in METHODS]
            yield Table(
                title=f"True rate {percent(rate)} %, {asked} batches of the last ten weeks: "
                "bias in points (coverage %; answered %)",
                columns=("method", *DEATHS),
                rows=tuple(rows),
            )


def cell(tally: Tally) -> str:
    """Return bias, coverage and, where some questions had no answer, how many had."""
    answered = "" if tally.answered == 1.0 else f"; {percent(tally.answered)}"
    return f"{points(tally.bias)} ({percent(tally.coverage)}{answered})"


CLAIM: Final = Claim(
    name="open-batches",
    shows="The rate of the last ten weeks is told without waiting for the batches to finish.",
    runs=300,
    make=make,
)
