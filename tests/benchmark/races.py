"""One race each: our way, the reference library's way, and how far their answers lie apart."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from time import process_time
from typing import Final, TypeAlias

import numpy as np
import statsmodels.api as sm
from lifelines.fitters.npmle import npmle
from scipy.stats import betabinom
from statsmodels.stats.contingency_tables import StratifiedTable
from statsmodels.stats.proportion import proportion_confint

from app.stats.adjusted_differences import fit_logistic
from app.stats.beta_binomials import cluster_messages
from app.stats.permutation_moments import permutation_value_by_moments
from app.stats.share_grids import Floats, ShareGrid
from app.stats.step_estimates import step_estimate
from tests.calibration.group_intervals import effective_intervals
from tests.simulated_nursery import Group, finished_counts, simulate

Way: TypeAlias = Callable[[], Floats]
SEED: Final = 20261125
CORRELATION: Final = 0.12


@dataclass(frozen=True, kw_only=True)
class Race:
    """Seconds of computing of both ways, and the greatest gap between their answers."""

    says: str
    size: int
    ours: float
    theirs: float
    apart: float

    @property
    def ratio(self) -> float:
        """How many times as long the reference takes."""
        return self.theirs / self.ours


def run_race(says: str, *, size: int, ours: Way, theirs: Way, times: int = 3) -> Race:
    """Return the best of so many runs of each way."""
    return Race(
        says=says,
        size=size,
        ours=min(_seconds(ours) for _ in range(times)),
        theirs=min(_seconds(theirs) for _ in range(times)),
        apart=float(np.abs(ours() - theirs()).max()),
    )


def _seconds(way: Way) -> float:
    begun = process_time()
    way()
    return process_time() - begun


def interval_race(size: int) -> Race:
    """Effective-cuttings Wilson intervals of all groups, beside one call per group."""
    rng = np.random.default_rng(SEED)
    rooted, stuck = finished_counts(rng.uniform(0.3, 0.9, size), rng=rng)
    groups = np.arange(size) % max(size // 5, 1)

    def ours() -> Floats:
        found = effective_intervals(rooted, sizes=stuck, groups=groups, correlation=CORRELATION)
        return np.array([found.low, found.high])

    def theirs() -> Floats:
        limits = []
        for group in range(int(groups.max()) + 1):
            mine = groups == group
            weights = stuck[mine] / (1.0 + (stuck[mine] - 1.0) * CORRELATION)
            good = float(weights @ (rooted[mine] / stuck[mine]))
            limits.append(proportion_confint(good, float(weights.sum()), method="wilson"))
        return np.array(limits).T

    return run_race("intervals of all groups / statsmodels", size=size, ours=ours, theirs=theirs)


def likelihood_race(size: int) -> Race:
    """The beta-binomial log-likelihood of all batches on the grid of shares."""
    rng = np.random.default_rng(SEED)
    rooted, stuck = finished_counts(rng.uniform(0.3, 0.9, size), rng=rng)
    grid, k = ShareGrid(), 1.0 / CORRELATION - 1.0

    def ours() -> Floats:
        return cluster_messages(rooted, sizes=stuck, concentration=k, grid=grid)[:, 1:]

    def theirs() -> Floats:
        a, b = k * grid.middles[None, 1:], k * (1.0 - grid.middles[None, 1:])
        return np.asarray(betabinom.logpmf(rooted[:, None], stuck[:, None], a, b))

    race = run_race("beta-binomial on the grid / scipy", size=size, ours=ours, theirs=theirs)
    # Ours leaves out the coefficient, which is the same in each row.
    apart = np.abs(np.diff(ours() - theirs(), axis=1)).max()
    return Race(says=race.says, size=size, ours=race.ours, theirs=race.theirs, apart=float(apart))


def logistic_race(size: int) -> Race:
    """A logistic regression on effective cuttings with twenty-five columns."""
    rng = np.random.default_rng(SEED)
    columns = (rng.integers(0, 25, size)[:, None] == np.arange(1, 25)).astype(float)
    design = np.column_stack([np.ones(size), columns])
    rooted, stuck = finished_counts(rng.uniform(0.4, 0.8, size), rng=rng)
    weights = stuck / (1.0 + (stuck - 1.0) * CORRELATION)

    def ours() -> Floats:
        fit = fit_logistic(design, shares=rooted / stuck, weights=weights, ridge_sd=None)
        return fit.coefficients

    def theirs() -> Floats:
        family = sm.families.Binomial()
        model = sm.GLM(rooted / stuck, design, family=family, var_weights=weights)
        return np.asarray(model.fit().params)

    return run_race("adjusted logistic / statsmodels", size=size, ours=ours, theirs=theirs)


def strata_race(size: int) -> Race:
    """The test of two ways inside strata, on single cuttings."""
    rng = np.random.default_rng(SEED)
    strata = np.sort(rng.integers(0, max(size // 15, 2), size))
    treated = rng.integers(0, 2, size).astype(float)
    rooted = (rng.random(size) < 0.6).astype(float)

    def ours() -> Floats:
        value = permutation_value_by_moments(
            rooted, weights=np.ones(size), treated=treated, strata=strata
        )
        return np.array([value])

    def theirs() -> Floats:
        tables = []
        for stratum in np.unique(strata):
            mine = strata == stratum
            cells = (1.0 - treated[mine]) * 2.0 + (1.0 - rooted[mine])
            tables.append(np.bincount(cells.astype(int), minlength=4).reshape(2, 2))
        kept = [t for t in tables if t.sum(axis=1).min() > 0 and t.sum() > 1]
        return np.array([StratifiedTable(kept).test_null_odds().pvalue])

    return run_race("two ways in strata / statsmodels", size=size, ours=ours, theirs=theirs)


def step_race(size: int) -> Race:
    """The step estimate of days to root: the greatest log-likelihood per cutting found."""
    batches = simulate(
        [Group(rate=0.7)],
        group_of=np.zeros(size, dtype=int),
        stuck_ago=np.full(size, 200),
        rng=np.random.default_rng(SEED),
    ).histories
    seen = batches.onsets > 0
    starts, ends, counts = batches.start[seen], batches.end[seen], batches.onsets[seen]

    def ours() -> Floats:
        return np.array([step_estimate(starts, ends=ends, counts=counts).log_likelihood])

    def theirs() -> Floats:
        masses, intervals = npmle(starts + 1e-6, ends, weights=counts)
        left = np.array([interval.left for interval in intervals])
        right = np.array([interval.right for interval in intervals])
        within = (starts[:, None] <= left) & (ends[:, None] >= right)
        return np.array([float(counts @ np.log(within @ masses))])

    race = run_race("step estimate / lifelines", size=size, ours=ours, theirs=theirs, times=1)
    apart = race.apart / float(counts.sum())
    return Race(says=race.says, size=size, ours=race.ours, theirs=race.theirs, apart=apart)


def all_races() -> Iterator[Race]:
    """Yield every race, small ones first."""
    for size in (10, 1_000, 10_000):
        yield interval_race(size)
    for size in (10, 1_000, 10_000):
        yield likelihood_race(size)
    for size in (100, 1_000, 10_000):
        yield logistic_race(size)
    for size in (150, 1_500):
        yield strata_race(size)
    for size in (10, 30):
        yield step_race(size)
