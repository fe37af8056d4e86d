"""Two ways of doing it that go together with a person, a season and the hard genera."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import erfc, sqrt
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.special import expit

from app.domain.comparisons import Comparison, compare
from app.domain.comparisons_questions import Factor
from app.domain.comparisons_verdicts import UNFAIR, Verdict
from app.stats.share_grids import Floats
from tests.calibration.pages import finished_outcomes, logged_batches
from tests.calibration.tables import Claim, Table, percent, points
from tests.calibration.tallies import Tally
from tests.simulated_nursery import (
    MODERATE,
    RANDOMISED,
    STRONG,
    Confounding,
    Habits,
    deal_out,
    finished_counts,
)

BATCHES: Final = (40, 150, 500)
DEALT: Final = {"strong": STRONG, "moderate": MODERATE, "at random": RANDOMISED}
ALWAYS: Final = Confounding(favourite=0.999, elsewhere=0.001, person_logit=0.5)
EFFECT_LOGIT: Final = 0.5
PEOPLE: Final = 4


@dataclass(frozen=True, kw_only=True)
class Scores:
    """Shares of comparisons (0 to 1) in which a difference is claimed, and how limits do.

    `claimed` is ours, `pooled` that of a z test on pooled cuttings; `limits` are taken wherever
    a comparison is fair. `refused` is the share in which none is.
    """

    claimed: float
    pooled: float
    refused: float
    limits: Tally


def scores(
    *,
    batches: int,
    confounding: Confounding,
    effect: float,
    runs: int,
    rng: Generator,
    correlation: float = 0.08,
    supposed: float = 0.08,
) -> Scores:
    """Return the scores with an effect on the logit scale and a correlation as it is supposed."""
    limits, claimed, pooled, refused = Tally(), 0, 0, 0
    for _ in range(runs):
        work = deal_out(batches, confounding=confounding, people=PEOPLE, rng=rng)
        habits = Habits(correlation=correlation)
        rates = expit(work.logits + effect * work.treated)
        rooted, stuck = finished_counts(rates, rng=rng, habits=habits)
        found = compare(
            logged_batches(work, rooted=rooted, stuck=stuck),
            sides=work.treated > 0,
            outcomes=finished_outcomes(rooted, stuck=stuck),
            factor=Factor.HORMONE,
            correlation=supposed,
        )
        truth = float((expit(work.logits + effect) - expit(work.logits)).mean())
        claimed += found.verdict is Verdict.DIFFERENCE
        pooled += pooled_value(rooted, stuck, work.treated) < 0.05
        refused += _take(limits, found, truth)
    return Scores(
        claimed=claimed / runs, pooled=pooled / runs, refused=refused / runs, limits=limits
    )


def pooled_value(rooted: Floats, stuck: Floats, treated: Floats) -> float:
    """Return the two-sided p of the z test on pooled cuttings; 1 where one side is empty."""
    one, other = stuck @ treated, stuck @ (1.0 - treated)
    if one == 0.0 or other == 0.0:
        return 1.0
    mean = rooted.sum() / stuck.sum()
    gap = rooted @ treated / one - rooted @ (1.0 - treated) / other
    return erfc(abs(gap) / sqrt(2.0 * mean * (1.0 - mean) * (1.0 / one + 1.0 / other)))


def _take(limits: Tally, found: Comparison, truth: float) -> bool:
    if found.verdict in UNFAIR or found.difference is None:
        limits.add_nothing()
        return True
    limits.add(found.difference.points, found.difference.low, found.difference.high, truth)
    return False


def make(runs: int, seed: int) -> Iterator[Table]:
    """Yield false claims, power and coverage, and what a wrong correlation does."""
    rng = np.random.default_rng(seed)
    cases = [
        (says, confounding, batches) for says, confounding in DEALT.items() for batches in BATCHES
    ]
    rows = []
    for says, confounding, batches in [*cases, ("always together", ALWAYS, 150)]:
        none, some = (
            scores(batches=batches, confounding=confounding, effect=effect, runs=runs, rng=rng)
            for effect in (0.0, EFFECT_LOGIT)
        )
        rows.append((says, str(batches), *_cells(none), percent(some.claimed), *_limits(some)))
    yield Table(
        title="Two ways, in per cent of comparisons (bias in points)",
        columns=(
            "dealt out",
            "batches",
            "false claims, ours",
            "false claims, pooled z",
            "refused",
            "coverage",
            "true 0.5 logit claimed",
            "coverage then",
            "bias then",
        ),
        rows=tuple(rows),
    )
    yield _wrong_correlation(runs, rng)


def _wrong_correlation(runs: int, rng: Generator) -> Table:
    rows = []
    for correlation in (0.04, 0.08, 0.16):
        one = scores(
            batches=150,
            confounding=STRONG,
            effect=0.0,
            runs=runs,
            rng=rng,
            correlation=correlation,
        )
        rows.append((str(correlation), *_cells(one)))
    return Table(
        title="No difference, strong, 150 batches, the correlation taken for 0.08",
        columns=("true correlation", "false claims, ours", "pooled z", "refused", "coverage"),
        rows=tuple(rows),
    )


def _cells(one: Scores) -> tuple[str, str, str, str]:
    shares = (one.claimed, one.pooled, one.refused, one.limits.coverage)
    claimed, pooled, refused, coverage = (percent(share, decimals=1) for share in shares)
    return claimed, pooled, refused, coverage


def _limits(one: Scores) -> tuple[str, str]:
    return percent(one.limits.coverage, decimals=1), points(one.limits.bias)


CLAIM: Final = Claim(
    name="two-ways",
    shows="No difference is claimed that is not there, whatever the two ways went together with.",
    runs=500,
    make=make,
)
