"""The forecast where counts are not made as it supposes.

Forty batches finished earlier; late deaths, which are the hardest to tell from late roots.
"""

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.random import Generator

from tests.calibration.open_batches import RATES, cell, forecast, one_nursery
from tests.calibration.tables import Claim, Table, percent
from tests.calibration.tallies import Tally
from tests.simulated_nursery import LATE_DEATH, CheckHabit, Habits

HABITS: Final = {
    "as supposed": Habits(),
    "a third of the counts left out": Habits(checks=CheckHabit(skipped_share=0.33)),
    "counted only once a tenth has newly rooted": Habits(checks=CheckHabit(on_sight=0.1)),
    "a fifth of the batches cleared unrooted": Habits(cleared_share=0.2),
    "batches differ more in speed (0.3)": Habits(batch_log_sd=0.3),
}
EARLIER: Final = 40
ASKED: Final = 25


def tally(*, rate: float, habits: Habits, runs: int, rng: Generator) -> Tally:
    """Return how the forecast does over so many nurseries with these habits."""
    found = Tally()
    for _ in range(runs):
        nursery = one_nursery(
            rate=rate, death=LATE_DEATH, asked=ASKED, rng=rng, habits=habits, earlier=EARLIER
        )
        answer = forecast(nursery)
        if answer is None:
            found.add_nothing()
        else:
            found.add(*answer, nursery.rate)
    return found


def make(runs: int, seed: int) -> Iterator[Table]:
    """Yield bias and coverage by habit."""
    rng = np.random.default_rng(seed)
    yield Table(
        title=f"The forecast of {ASKED} batches of the last ten weeks: bias in points (coverage %)",
        columns=("counts", *(f"true rate {percent(rate)} %" for rate in RATES)),
        rows=tuple(
            (
                says,
                *(cell(tally(rate=rate, habits=habits, runs=runs, rng=rng)) for rate in RATES),
            )
            for says, habits in HABITS.items()
        ),
    )


CLAIM: Final = Claim(
    name="check-habits",
    shows="What the forecast makes of counts left out, counts on sight and cleared batches.",
    runs=300,
    make=make,
)
