"""Small groups: rates that lean on their parents beside the plain ones, on finished batches."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.special import expit

from app.domain.nursery_fits import GRID, START_CONCENTRATIONS
from app.stats.beta_trees import Clusters, Levels, fit_beta_tree
from app.stats.share_grids import Floats
from app.stats.trees import Ints
from tests.calibration.group_intervals import effective_intervals
from tests.calibration.tables import Claim, Table, percent
from tests.calibration.tallies import Tally, read_off
from tests.simulated_nursery import finished_counts

BATCHES: Final = (30, 100, 400)
GENERA: Final = 10
METHODS: Final = 3
MONTHS: Final = 12
CLASSES: Final = {"1": (1, 1), "2": (2, 2), "3 to 4": (3, 4), "5 to 9": (5, 9), "10 on": (10, 999)}


@dataclass(frozen=True, kw_only=True)
class Cells:
    """Finished batches by genus, method and month; `truth` is each cell's rate."""

    data: Clusters
    levels: Levels
    truth: Floats
    batches: Ints


def one_nursery(*, batches: int, crossed: bool, rng: Generator) -> Cells:
    """Return a nursery whose months lean on methods and these on genera.

    With `crossed` months and methods add up on the logit scale instead, the same for all genera:
    a truth other than the one supposed.
    """
    genus = rng.choice(GENERA, batches, p=rng.dirichlet(np.full(GENERA, 2.0)))
    keys = np.stack([genus, rng.integers(0, METHODS, batches), rng.integers(0, MONTHS, batches)])
    cells, place = np.unique(keys, axis=1, return_inverse=True)
    rates = _crossed_rates(rng) if crossed else _nested_rates(rng)
    truth = rates[tuple(cells)]
    rooted, stuck = finished_counts(truth[place.ravel()], rng=rng)
    methods, method = np.unique(cells[:2], axis=1, return_inverse=True)
    genera, parent = np.unique(methods[0], return_inverse=True)
    return Cells(
        data=Clusters(successes=rooted, sizes=stuck, groups=place.ravel()),
        levels=Levels(
            groups=cells.shape[1],
            parents=(method.ravel(), parent.ravel(), np.zeros(len(genera), dtype=np.int64)),
        ),
        truth=truth,
        batches=np.bincount(place.ravel(), minlength=cells.shape[1]),
    )


def _nested_rates(rng: Generator) -> Floats:
    genera = _round(np.full((GENERA, 1, 1), 0.6), concentration=5.0, rng=rng)
    methods = _round(np.tile(genera, (1, METHODS, 1)), concentration=15.0, rng=rng)
    return _round(np.tile(methods, (1, 1, MONTHS)), concentration=30.0, rng=rng)


def _round(means: Floats, *, concentration: float, rng: Generator) -> Floats:
    drawn = rng.beta(concentration * means, concentration * (1.0 - means))
    # A share of exactly 0 or 1 has no beta scatter round it.
    return np.clip(drawn, 1e-3, 1.0 - 1e-3)


def _crossed_rates(rng: Generator) -> Floats:
    logits = rng.normal(0.4, 0.9, (GENERA, 1, 1)) + rng.normal(0.0, 0.5, (1, METHODS, 1))
    season = 0.4 * np.sin(2.0 * np.pi * np.arange(MONTHS) / MONTHS)
    return np.asarray(expit(logits + season[None, None, :] + rng.normal(0, 0.15, (1, 1, MONTHS))))


def tallies(
    *, batches: int, crossed: bool, runs: int, rng: Generator
) -> dict[str, tuple[Tally, Tally]]:
    """Return for each class of cells by number of batches how leaning and plain rates do."""
    found = {name: (Tally(), Tally()) for name in CLASSES}
    for _ in range(runs):
        cells = one_nursery(batches=batches, crossed=crossed, rng=rng)
        tree = fit_beta_tree(
            cells.data, levels=cells.levels, centres=START_CONCENTRATIONS, grid=GRID
        )
        leaning = np.array(read_off(tree.posteriors[0], grid=GRID))
        plain = effective_intervals(
            cells.data.successes,
            sizes=cells.data.sizes,
            groups=cells.data.groups,
            correlation=tree.correlation,
        )
        for name, (least, most) in CLASSES.items():
            mine = (cells.batches >= least) & (cells.batches <= most)
            if mine.any():
                found[name][0].add(*leaning[:, mine], cells.truth[mine])
                found[name][1].add(
                    plain.shares[mine], plain.low[mine], plain.high[mine], cells.truth[mine]
                )
    return found


def make(runs: int, seed: int) -> Iterator[Table]:
    """Yield errors, coverage and widths by number of batches in the cell."""
    rng = np.random.default_rng(seed)
    for crossed in (False, True):
        rows = []
        for batches in BATCHES:
            found = tallies(batches=batches, crossed=crossed, runs=runs, rng=rng)
            rows += [
                (
                    str(batches),
                    name,
                    f"{percent(plain.rmse, decimals=1)} / {percent(lean.rmse, decimals=1)}",
                    f"{percent(plain.coverage, decimals=1)} / {percent(lean.coverage, decimals=1)}",
                    f"{percent(plain.width)} / {percent(lean.width)}",
                )
                for name, (lean, plain) in found.items()
                if lean.count > runs
            ]
        yield Table(
            title="Cells of genus, method and month, plain / leaning; truth "
            + ("additive with months in common" if crossed else "nested as supposed"),
            columns=("batches", "in the cell", "error, points", "coverage of 95 %", "width"),
            rows=tuple(rows),
        )


CLAIM: Final = Claim(
    name="small-groups",
    shows="Rates of small groups are nearer the truth when they lean on their parents.",
    runs=300,
    make=make,
)
