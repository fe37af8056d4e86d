"""Intervals of one group's share from its finished batches alone."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator

from app.stats.beta_trees import Clusters, Levels, fit_beta_tree
from app.stats.group_posteriors import (
    ASSUMED_CORRELATION,
    ASSUMED_LOGIT_SD,
    LEARNED_LOGIT_SD,
    lone_group_posteriors,
)
from app.stats.share_grids import Floats, ShareGrid
from tests.calibration.group_intervals import effective_intervals
from tests.calibration.tables import Claim, Table, percent
from tests.calibration.tallies import Tally, read_off
from tests.simulated_nursery import Habits, finished_counts

GRID: Final = ShareGrid()
BATCHES: Final = (1, 2, 3, 5, 10, 30)
CORRELATIONS: Final = (0.02, 0.05, 0.1, 0.2)
RATES: Final = (0.3, 0.6, 0.85, 0.95)
OTHER_BATCHES: Final = 60


@dataclass(frozen=True, kw_only=True)
class Known:
    """What is thought of the correlation before the group's batches speak."""

    correlation: float
    logit_sd: float


NOTHING: Final = Known(correlation=ASSUMED_CORRELATION, logit_sd=ASSUMED_LOGIT_SD)


@dataclass(frozen=True, kw_only=True)
class Compared:
    """Ours beside Wilson's interval on effective cuttings and on pooled cuttings."""

    ours: Tally
    effective: Tally
    pooled: Tally


def learned(*, correlation: float, rng: Generator) -> Known:
    """Return what sixty other finished batches of ten groups teach of the correlation."""
    rates = rng.uniform(0.2, 0.95, 10)[np.arange(OTHER_BATCHES) % 10]
    rooted, stuck = finished_counts(rates, rng=rng, habits=Habits(correlation=correlation))
    tree = fit_beta_tree(
        Clusters(successes=rooted, sizes=stuck, groups=np.arange(OTHER_BATCHES) % 10),
        levels=Levels(groups=10, parents=(np.zeros(10, dtype=np.int64),)),
        centres=(1.0 / ASSUMED_CORRELATION - 1.0, 5.0),
    )
    return Known(correlation=tree.correlation, logit_sd=LEARNED_LOGIT_SD)


def compared(
    *, batches: int, correlation: float, rate: float, known: Known, runs: int, rng: Generator
) -> Compared:
    """Return the three intervals of so many groups of finished batches each."""
    groups = np.repeat(np.arange(runs), batches)
    rooted, stuck = finished_counts(
        np.full(len(groups), rate), rng=rng, habits=Habits(correlation=correlation)
    )
    masses = lone_group_posteriors(
        Clusters(successes=rooted, sizes=stuck, groups=groups),
        groups=runs,
        correlation=known.correlation,
        logit_sd=known.logit_sd,
        grid=GRID,
    )
    found = Compared(ours=Tally(), effective=Tally(), pooled=Tally())
    truth = np.full(runs, rate)
    found.ours.add(*read_off(masses, grid=GRID), truth)
    found.effective.add(*_effective(rooted, stuck, groups, known.correlation), truth)
    found.pooled.add(*_effective(rooted, stuck, groups, 0.0), truth)
    return found


def _effective(
    rooted: Floats, stuck: Floats, groups: Floats, correlation: float
) -> tuple[Floats, Floats, Floats]:
    found = effective_intervals(rooted, sizes=stuck, groups=groups, correlation=correlation)
    return found.shares, found.low, found.high


def make(runs: int, seed: int) -> Iterator[Table]:
    """Yield coverage and width by batches, and ours by batches and correlation."""
    rng = np.random.default_rng(seed)
    yield from _tables("nothing known before: correlation 0.12", runs, rng, from_others=False)
    yield from _tables("correlation learned from 60 others", runs, rng, from_others=True)


def _tables(says: str, runs: int, rng: Generator, *, from_others: bool) -> list[Table]:
    rows, cells = [], []
    for batches in BATCHES:
        by_correlation = []
        for correlation in CORRELATIONS:
            found = [
                _learned_anew(batches, correlation, rate, runs, rng)
                if from_others
                else compared(
                    batches=batches,
                    correlation=correlation,
                    rate=rate,
                    known=NOTHING,
                    runs=runs,
                    rng=rng,
                )
                for rate in RATES
            ]
            by_correlation.append(found)
        rows.append((str(batches), *_row([one for found in by_correlation for one in found])))
        cells.append((str(batches), *(_worst([f.ours for f in found]) for found in by_correlation)))
    heads = ("ours", "Wilson, effective", "Wilson, pooled", "widths")
    return [
        Table(
            title=f"Coverage of 95 % intervals (worst rate in brackets), {says}",
            columns=("batches", *heads),
            rows=tuple(rows),
        ),
        Table(
            title=f"Ours by true correlation (worst rate in brackets), {says}",
            columns=("batches", *(str(c) for c in CORRELATIONS)),
            rows=tuple(cells),
        ),
    ]


def _learned_anew(
    batches: int, correlation: float, rate: float, runs: int, rng: Generator
) -> Compared:
    # Twenty nurseries, each with what it has learned, and a share of the runs in each.
    found = Compared(ours=Tally(), effective=Tally(), pooled=Tally())
    for _ in range(20):
        one = compared(
            batches=batches,
            correlation=correlation,
            rate=rate,
            known=learned(correlation=correlation, rng=rng),
            runs=max(runs // 20, 1),
            rng=rng,
        )
        for mine, theirs in zip(_tallies(found), _tallies(one), strict=True):
            mine.join(theirs)
    return found


def _tallies(found: Compared) -> tuple[Tally, Tally, Tally]:
    return found.ours, found.effective, found.pooled


def _row(found: Sequence[Compared]) -> tuple[str, ...]:
    columns = list(zip(*map(_tallies, found), strict=True))
    widths = " / ".join(percent(_mean([one.width for one in column])) for column in columns)
    return (*(_worst(column) for column in columns), widths)


def _worst(found: Sequence[Tally]) -> str:
    coverages = [one.coverage for one in found]
    return f"{percent(_mean(coverages), decimals=1)} ({percent(min(coverages))})"


def _mean(values: Sequence[float]) -> float:
    return float(np.mean(values))


CLAIM: Final = Claim(
    name="intervals",
    shows="Intervals of a group's rate from 1 to 30 finished batches hold the truth.",
    runs=1000,
    make=make,
)
