"""When to count next: by the batch's own forecast, or every so many days."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final

import numpy as np
from numpy.random import Generator

from app.domain.fit_records import BatchToForecast
from app.domain.nursery_fits import NurseryFit, fit_nursery
from app.domain.outcomes import CheckCounts, Loss, Standing
from app.domain.outlooks import BatchOutlook, batch_outlook
from app.stats.look_rules import LATE_AFTER, LONGEST_GAP
from tests.calibration.pages import records_of
from tests.calibration.tables import Claim, Table, percent
from tests.simulated_nursery import (
    EARLY_ROT,
    LATE_DEATH,
    LINGERING,
    Group,
    GrownBatch,
    Habits,
    grow,
    simulate,
)

GENERA: Final = 10
LEARNED_FROM: Final = 200
NEW_BATCHES: Final = 20
LAST_DAY: Final = 126
# Sizes from 6 to 300, spread evenly on the log scale or nearly so.
SIZES: Final = Habits(sizes=(6, 300), median_size=42.0, size_log_sd=1.1, write_off_day=LAST_DAY)
_STUCK_ON: Final = date(2026, 1, 1)
_NO_NEWS: Final = 0.05
_FALSE_BELOW: Final = 0.25


@dataclass(frozen=True, kw_only=True)
class Policy:
    """`every` days, or by the forecast where None; `stops` by the rule of hardly any more."""

    says: str
    every: int | None = None
    stops: bool = True


OURS: Final = Policy(says="budget of 40 cutting-days")
POLICIES: Final = (
    Policy(says="every 14 days to day 126", every=14, stops=False),
    Policy(says="every 7 days, then the stop rule", every=7),
    Policy(says="every 10 days, then the stop rule", every=10),
    Policy(says="every 14 days, then the stop rule", every=14),
    OURS,
)


@dataclass
class Course:
    """What came of many batches under one policy; sums over batches and cuttings."""

    batches: int = 0
    counts: int = 0
    wasted: int = 0
    rooters: int = 0
    missed: int = 0
    waited: float = 0.0
    behind: list[float] = field(default_factory=list)
    alarms: int = 0
    false_alarms: int = 0

    @property
    def counts_per_batch(self) -> float:
        """How often a batch was counted."""
        return self.counts / self.batches

    @property
    def waiting_days(self) -> float:
        """Days between rooting and being seen, a mean over the cuttings seen."""
        return self.waited / max(self.rooters - self.missed, 1)

    @property
    def missed_share(self) -> float:
        """Rooters dumped before they had rooted, of all."""
        return self.missed / max(self.rooters, 1)

    @property
    def false_late(self) -> float:
        """Alarms by the 65 % rule at which under a quarter of what was to come had rooted."""
        return self.false_alarms / max(self.alarms, 1)


@dataclass(frozen=True, kw_only=True)
class Nursery:
    """What was learned, and new batches of the same genera, with the genus of each."""

    fit: NurseryFit
    batches: tuple[tuple[int, GrownBatch], ...]


def one_nursery(*, rng: Generator, habits: Habits | None = None) -> Nursery:
    """Return what two hundred finished batches of ten genera teach, and new batches."""
    chosen = habits or SIZES
    deaths = (EARLY_ROT, LATE_DEATH, LINGERING)
    groups = [
        Group(
            rate=float(rng.uniform(0.3, 0.9)),
            median_days=float(rng.uniform(14.0, 70.0)),
            habit=deaths[rng.integers(len(deaths))],
        )
        for _ in range(GENERA)
    ]
    past = simulate(
        groups,
        group_of=rng.integers(0, GENERA, LEARNED_FROM),
        stuck_ago=rng.integers(LAST_DAY, 700, LEARNED_FROM),
        rng=rng,
        habits=chosen,
    )
    genera = rng.integers(0, GENERA, NEW_BATCHES)
    return Nursery(
        fit=fit_nursery(records_of(past)),
        batches=tuple(
            (int(genus) + 1, grow(groups[genus], habits=chosen, rng=rng)) for genus in genera
        ),
    )


def follow(course: Course, policy: Policy, nursery: Nursery) -> None:
    """Count every new batch by the policy until it is finished, and add up what came of it."""
    for genus, batch in nursery.batches:
        _follow_one(course, policy, nursery.fit, genus, batch)


def _follow_one(
    course: Course, policy: Policy, fit: NurseryFit, genus: int, batch: GrownBatch
) -> None:
    days: list[int] = []
    outlook = _outlook(fit, genus, batch, days)
    while True:
        day = _next_day(policy, days, outlook)
        if policy.every is None and outlook is not None:
            _judge_alarm(course, batch, days, outlook)
        days.append(day)
        outlook = _outlook(fit, genus, batch, days)
        finished = outlook is None or (policy.stops and outlook.finish)
        if finished or day >= LAST_DAY:
            break
    _add_up(course, batch, days)


def _next_day(policy: Policy, days: list[int], outlook: BatchOutlook | None) -> int:
    if policy.every is not None:
        return min((days[-1] if days else 0) + policy.every, LAST_DAY)
    assert outlook is not None
    return min((outlook.count.count_on - _STUCK_ON).days, LAST_DAY)


def _seen(batch: GrownBatch, days: list[int]) -> tuple[list[CheckCounts], Standing]:
    checks, before = [], 0
    for day in days:
        rooted = int(((batch.rooting_days > before) & (batch.rooting_days <= day)).sum())
        lost = int(((batch.dying_days > before) & (batch.dying_days <= day)).sum())
        losses = (Loss(cause="basal rot", number=lost),) if lost else ()
        on = _STUCK_ON + timedelta(days=day)
        checks.append(CheckCounts(checked_on=on, rooted=rooted, lost=losses))
        before = day
    standing = Standing(
        stuck=batch.size,
        rooted=sum(check.rooted for check in checks),
        lost=sum(check.lost_in_all for check in checks),
        last_looked_on=checks[-1].checked_on if checks else None,
        counted_on=checks[-1].checked_on if checks else None,
    )
    return checks, standing


def _outlook(
    fit: NurseryFit, genus: int, batch: GrownBatch, days: list[int]
) -> BatchOutlook | None:
    """What the log would expect of the batch after these counts; None once nothing waits."""
    checks, standing = _seen(batch, days)
    told = BatchToForecast(
        batch_id=-1, genus=genus, cutting_type=0, stuck_on=_STUCK_ON, stuck=batch.size
    )
    return batch_outlook(fit, batch=told, checks=checks, standing=standing)


def _judge_alarm(course: Course, batch: GrownBatch, days: list[int], outlook: BatchOutlook) -> None:
    last = days[-1] if days else 0
    late = (outlook.count.late_on - _STUCK_ON).days
    if late - last >= LONGEST_GAP + LATE_AFTER:
        return
    remaining = (batch.rooting_days > last).sum()
    rooted = ((batch.rooting_days > last) & (batch.rooting_days <= late)).sum()
    course.alarms += 1
    course.false_alarms += bool(rooted < _FALSE_BELOW * remaining or remaining == 0)


def _add_up(course: Course, batch: GrownBatch, days: list[int]) -> None:
    edges = np.array([0, *days], dtype=float)
    at = np.searchsorted(edges, batch.rooting_days, side="left")
    seen = at < len(edges)
    course.batches += 1
    course.counts += len(days)
    course.rooters += batch.will_root
    course.missed += int((~seen).sum())
    course.waited += float((edges[at[seen]] - batch.rooting_days[seen]).sum())
    news = np.bincount(at[seen], minlength=len(edges))[1:]
    dying = np.searchsorted(edges, batch.dying_days, side="left")
    news = news + np.bincount(dying[dying < len(edges)], minlength=len(edges))[1:]
    course.wasted += int((news < _NO_NEWS * batch.size).sum())
    if batch.will_root:
        most = np.quantile(batch.rooting_days, 0.8, method="higher")
        place = int(np.searchsorted(edges, most, side="left"))
        if place < len(edges):
            course.behind.append(float(edges[place] - most))


def courses(*, runs: int, rng: Generator, policies: tuple[Policy, ...]) -> dict[str, Course]:
    """Return what came of the new batches of so many nurseries under each policy."""
    found = {policy.says: Course() for policy in policies}
    for _ in range(runs):
        nursery = one_nursery(rng=rng)
        for policy in policies:
            follow(found[policy.says], policy, nursery)
    return found


def make(runs: int, seed: int) -> Iterator[Table]:
    """Yield counts, waiting, misses and alarms of each policy."""
    rng = np.random.default_rng(seed)
    found = courses(runs=runs, rng=rng, policies=POLICIES)
    yield Table(
        title="Counting by the forecast and by the calendar; medians 14 to 70 days, 6 to 300 stuck",
        columns=(
            "policy",
            "counts per batch",
            "of these with under 5 % news",
            "days a rooted cutting waits",
            "days behind at 80 % rooted, mean / nine in ten",
            "rooters missed, %",
            "late falsely, %",
        ),
        rows=tuple(
            (
                says,
                f"{one.counts_per_batch:.1f}",
                f"{one.wasted / one.batches:.1f}",
                f"{one.waiting_days:.1f}",
                f"{np.mean(one.behind):.1f} / {np.quantile(one.behind, 0.9):.1f}",
                percent(one.missed_share, decimals=1),
                percent(one.false_late, decimals=1) if one.alarms else "-",
            )
            for says, one in found.items()
        ),
    )


CLAIM: Final = Claim(
    name="next-looks",
    shows="Fewer counts, and rooted cuttings wait no longer, than by the calendar.",
    runs=300,
    make=make,
)
