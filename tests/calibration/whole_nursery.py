"""Ten genera with medians, rates and habits of their own: each one's rate over the last weeks."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator

from app.domain.nursery_fits import fit_nursery
from app.stats.share_grids import Floats
from app.stats.trees import Ints
from tests.calibration.open_batches import DEATHS, WINDOW, simple_ratio
from tests.calibration.pages import genus_rates, records_of
from tests.calibration.tables import Claim, Table, percent, points
from tests.calibration.tallies import Tally
from tests.simulated_nursery import Group, Habits, SimulatedBatches, share_in_time, simulate

GENERA: Final = 10
SEASON_DAYS: Final = 73
SEASON_CONCENTRATION: Final = 25.0
BATCHES: Final = (120, 400)
METHODS: Final = ("forecast", "rooted / stuck, all", "finished only", "landmark, 63 days")


@dataclass(frozen=True, kw_only=True)
class Year:
    """A year of a nursery with ten genera.

    `truth[g]` is genus g's strike rate in the last season: what roots before the rest is dumped.
    """

    batches: SimulatedBatches
    truth: Floats
    groups: Sequence[Group]


def one_year(*, batches: int, seasonal: bool, rng: Generator, habits: Habits | None = None) -> Year:
    """Return a year of batches; with `seasonal` each fifth of it has rates of its own."""
    chosen = habits or Habits()
    groups = [
        Group(
            rate=float(rng.uniform(0.25, 0.92)),
            median_days=float(np.exp(rng.normal(np.log(30.0), 0.3))),
            habit=list(DEATHS.values())[rng.integers(len(DEATHS))],
        )
        for _ in range(GENERA)
    ]
    rates = np.repeat([[group.rate for group in groups]], 5, axis=0)
    if seasonal:
        rates = rng.beta(SEASON_CONCENTRATION * rates, SEASON_CONCENTRATION * (1.0 - rates))
    # Some genera are common, some rare.
    genus = rng.choice(GENERA, batches, p=rng.dirichlet(np.full(GENERA, 3.0)))
    ago = rng.integers(0, 5 * SEASON_DAYS, batches)
    season = ago // SEASON_DAYS
    found = simulate(
        groups,
        group_of=genus,
        stuck_ago=ago,
        rng=rng,
        habits=chosen,
        rates=rates[season, genus],
    )
    in_time = [share_in_time(group, habits=chosen) for group in groups]
    return Year(batches=found, truth=rates[0] * in_time, groups=groups)


def tallies(
    *,
    batches: int,
    seasonal: bool,
    runs: int,
    rng: Generator,
    methods: Sequence[str] = METHODS,
) -> dict[str, Tally]:
    """Return how each method does over the genera of so many nurseries.

    Genera without a batch in the last ten weeks are not asked about.
    """
    found = {method: Tally() for method in methods}
    for _ in range(runs):
        year = one_year(batches=batches, seasonal=seasonal, rng=rng)
        asked = np.flatnonzero(year.batches.stuck_ago <= WINDOW)
        present = np.unique(year.batches.group[asked])
        for method, tally in found.items():
            if method == METHODS[0]:
                fit = fit_nursery(records_of(year.batches))
                for genus, answer in genus_rates(fit, year.batches, asked).items():
                    tally.add(*answer, year.truth[genus])
            else:
                _ratios(tally, method, year, asked, present)
    return found


def _ratios(tally: Tally, method: str, year: Year, asked: Ints, present: Ints) -> None:
    for genus in present:
        answer = simple_ratio(
            method,
            year.batches.histories,
            asked[year.batches.group[asked] == genus],
            ages=year.batches.stuck_ago,
            correlation=Habits().correlation,
        )
        if answer is None:
            tally.add_nothing()
        else:
            tally.add(*answer, year.truth[genus])


def make(runs: int, seed: int) -> Iterator[Table]:
    """Yield bias, error, coverage and width of each method by size and season effect."""
    rng = np.random.default_rng(seed)
    rows = []
    for batches in BATCHES:
        for seasonal in (False, True):
            found = tallies(batches=batches, seasonal=seasonal, runs=runs, rng=rng)
            rows += [
                (
                    str(batches),
                    "yes" if seasonal else "no",
                    method,
                    points(one.bias),
                    percent(one.rmse, decimals=1),
                    percent(one.coverage, decimals=1),
                    percent(one.width),
                    percent(one.answered),
                )
                for method, one in found.items()
            ]
    yield Table(
        title="Rate of a genus, batches stuck in the last 70 days, in points and per cent",
        columns=(
            "batches a year",
            "season effect",
            "method",
            "bias",
            "root mean square error",
            "coverage of 95 %",
            "width",
            "answered",
        ),
        rows=tuple(rows),
    )


CLAIM: Final = Claim(
    name="whole-nursery",
    shows="All that is learned together: each genus's rate over its last ten weeks.",
    runs=300,
    make=make,
)
