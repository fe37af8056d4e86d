"""Days to root of a genus and cutting type, by how many of its batches are finished.

The truth is that of the cuttings that root before the rest is dumped: of others nobody hears.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.random import Generator

from app.domain.nursery_fits import fit_nursery
from app.domain.rooting_times import RootingDay, rooting_times
from app.stats.histories import Histories
from app.stats.share_grids import Floats
from app.stats.trees import Ints
from tests.calibration.pages import records_of
from tests.calibration.tables import Claim, Table, percent
from tests.calibration.tallies import Tally
from tests.simulated_nursery import (
    EARLY_ROT,
    LATE_DEATH,
    LINGERING,
    Group,
    Habits,
    RootingShape,
    relative_days,
    simulate,
)

GENERA: Final = 10
TYPES: Final = 3
BATCHES: Final = 150
GENUS_LOG_SD: Final = 0.3
TYPE_LOG_SD: Final = 0.2
CLASSES: Final = {"0": (0, 0), "1": (1, 1), "2 to 3": (2, 3), "4 to 9": (4, 9), "10 on": (10, 999)}
_DRAWS: Final = 200_000


@dataclass(frozen=True, kw_only=True)
class TimeScores:
    """Relative errors (as logs of days) of the half and the nine-tenths day, limits included.

    `days_seen` is the plain median of the days on which cuttings were found rooted, with limits
    as for cuttings that root each by itself.
    """

    half: Tally = field(default_factory=Tally)
    nine_tenths: Tally = field(default_factory=Tally)
    days_seen: Tally = field(default_factory=Tally)


def scores(*, shape: RootingShape, runs: int, rng: Generator) -> dict[str, TimeScores]:
    """Return the scores by number of finished batches with roots of the genus and type."""
    habits = Habits(shape=shape)
    relative = _relative_days_of_new_cuttings(habits, rng)
    found = {
        name: TimeScores(half=Tally(), nine_tenths=Tally(), days_seen=Tally()) for name in CLASSES
    }
    for _ in range(runs):
        _one_nursery(found, habits=habits, relative=relative, rng=rng)
    return found


def _one_nursery(
    found: dict[str, TimeScores], *, habits: Habits, relative: Floats, rng: Generator
) -> None:
    groups = _groups(rng)
    chances = np.repeat(rng.dirichlet(np.full(GENERA, 2.0)), TYPES) / TYPES
    group_of = rng.choice(len(groups), BATCHES, p=chances)
    batches = simulate(
        groups,
        group_of=group_of,
        stuck_ago=rng.integers(0, 365, BATCHES),
        rng=rng,
        habits=habits,
    )
    fit = fit_nursery(
        replace(records_of(batches), genus=group_of // TYPES + 1, cutting_type=group_of % TYPES)
    )
    for place in np.unique(group_of):
        times = rooting_times(fit, genus=int(place) // TYPES + 1, cutting_type=int(place) % TYPES)
        if times is None:
            continue
        half, late = _true_days(groups[place].median_days * relative, habits)
        mine = found[_class_of(times.finished)]
        _add(mine.half, times.half, half)
        _add(mine.nine_tenths, times.nine_tenths, late)
        seen = _days_seen(batches.histories, np.flatnonzero(group_of == place))
        if len(seen):
            _add(mine.days_seen, _plain_median(seen), half)


def _days_seen(histories: Histories, places: Ints) -> Floats:
    """Days on which each rooted cutting of the finished ones among these batches was found."""
    mine = np.isin(histories.cluster, places) & histories.settled[histories.cluster]
    return np.sort(np.repeat(histories.end[mine], histories.onsets[mine].astype(int)))


def _plain_median(days: Floats) -> RootingDay:
    """The middle day with limits from the ranks, as for independent cuttings."""
    reach = 1.96 * np.sqrt(len(days)) / 2.0
    ranks = len(days) / 2.0 + np.array([0.0, -reach, reach])
    middle, low, high = days[np.clip(np.round(ranks).astype(int), 0, len(days) - 1)]
    return RootingDay(day=float(middle), low=float(low), high=float(high))


def _groups(rng: Generator) -> list[Group]:
    genera = np.log(30.0) + rng.normal(0.0, GENUS_LOG_SD, GENERA)
    medians = np.exp(np.repeat(genera, TYPES) + rng.normal(0.0, TYPE_LOG_SD, GENERA * TYPES))
    deaths = (EARLY_ROT, LATE_DEATH, LINGERING)
    habit_of = np.repeat(rng.integers(0, len(deaths), GENERA), TYPES)
    rates = rng.uniform(0.4, 0.9, GENERA * TYPES)
    return [
        Group(rate=float(rate), median_days=float(median), habit=deaths[habit])
        for rate, median, habit in zip(rates, medians, habit_of, strict=True)
    ]


def _class_of(batches: int) -> str:
    return next(name for name, (low, high) in CLASSES.items() if low <= batches <= high)


def _add(tally: Tally, day: RootingDay, truth: float) -> None:
    tally.add(*np.log([day.day, day.low, day.high, truth]))


def _relative_days_of_new_cuttings(habits: Habits, rng: Generator) -> Floats:
    """Days of many cuttings, each of a new batch, over their group's median; in order."""
    days = relative_days(habits, count=_DRAWS, rng=rng)
    return np.sort(days * np.exp(rng.normal(0.0, habits.batch_log_sd, _DRAWS)))


def _true_days(days: Floats, habits: Habits) -> tuple[float, float]:
    """By when half and nine tenths have rooted of those that root before the rest is dumped."""
    count = int(np.searchsorted(days, habits.write_off_day))
    return float(days[count // 2]), float(days[9 * count // 10])


def make(runs: int, seed: int) -> Iterator[Table]:
    """Yield errors and coverage of the half and the nine-tenths day for three shapes."""
    rng = np.random.default_rng(seed)
    for shape in RootingShape:
        rows = []
        for name, one in scores(shape=shape, runs=runs, rng=rng).items():
            rows.append(
                (
                    name,
                    str(one.half.count),
                    percent(one.half.rmse),
                    percent(one.half.coverage, decimals=1),
                    percent(one.nine_tenths.rmse),
                    percent(one.nine_tenths.coverage, decimals=1),
                    percent(one.days_seen.rmse),
                    percent(one.days_seen.coverage, decimals=1),
                )
            )
        yield Table(
            title=f"True days {shape}: error in per cent of the day, coverage of 95 % in per cent",
            columns=(
                "finished batches with roots",
                "groups",
                "half rooted, error",
                "coverage",
                "nine tenths rooted, error",
                "coverage",
                "median of days seen, error",
                "coverage",
            ),
            rows=tuple(rows),
        )


CLAIM: Final = Claim(
    name="times",
    shows="Days to root of a genus and type, from its own batches and from its relations.",
    runs=300,
    make=make,
)
