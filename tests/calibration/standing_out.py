"""Who is pointed at: innocent people, and one who is truly worse."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.special import expit

from app.domain.standouts import LabelledBatches, Standouts, standouts
from app.domain.standouts_calls import Call
from app.stats.share_grids import Floats
from app.stats.trees import Ints
from tests.calibration.pages import finished_outcomes, logged_batches
from tests.calibration.tables import Claim, Table, percent
from tests.simulated_nursery import Confounding, Habits, Work, deal_out, finished_counts

SITES: Final = ((6, 80), (6, 400), (15, 400))
MARGIN: Final = 0.05
CORRELATION: Final = Habits().correlation
# Nobody is better by gift here, and some are given the harder genera.
_WORK: Final = Confounding(favourite=0.5, elsewhere=0.5, person_logit=0.0)
_UNEVENLY: Final = 2.0


@dataclass(frozen=True, kw_only=True)
class Scores:
    """Shares of reports (0 to 1) that point at somebody innocent, and at the one who is worse.

    Innocent is who is not more than five points below the rest.
    """

    innocent: float
    found: float


@dataclass(frozen=True, kw_only=True)
class Report:
    """What one report says: labels pointed at by our rule and by the plain one."""

    ours: frozenset[int]
    plain: frozenset[int]


def scores(
    *,
    people: int,
    batches: int,
    runs: int,
    rng: Generator,
    deficit: float = 0.0,
    spread_logit: float = 0.0,
) -> tuple[Scores, Scores]:
    """Return the scores of our rule and of the plain one.

    One person is worse by `deficit` (0 to 1); beside that all differ by an sd of `spread_logit`.
    """
    innocent, found = np.zeros(2), np.zeros(2)
    for _ in range(runs):
        work = deal_out(batches, confounding=_WORK, people=people, rng=rng, unevenly=_UNEVENLY)
        worse = int(rng.integers(people))
        gift = rng.normal(0.0, spread_logit, people) if spread_logit else np.zeros(people)
        rates = expit(work.logits + gift[work.person]) - deficit * (work.person == worse)
        rates = np.clip(rates, 0.01, 0.99)
        guilty = _truly_below(rates, expit(work.logits), work.person)
        report = one_report(work, rates, rng=rng)
        for place, named in enumerate((report.ours, report.plain)):
            innocent[place] += bool(named - guilty)
            found[place] += worse in named
    ours, plain = (
        Scores(innocent=float(a), found=float(b) if deficit else float("nan"))
        for a, b in zip(innocent / runs, found / runs, strict=True)
    )
    return ours, plain


def one_report(work: Work, rates: Floats, *, rng: Generator) -> Report:
    """Return whom the page and whom a plain binomial rule would point at."""
    rooted, stuck = finished_counts(rates, rng=rng)
    people = LabelledBatches(rows=np.arange(len(stuck)), labels=work.person)
    found = standouts(
        logged_batches(work, rooted=rooted, stuck=stuck),
        labelled=people,
        outcomes=finished_outcomes(rooted, stuck=stuck),
        correlation=CORRELATION,
    )
    return Report(ours=_pointed_at(found), plain=_two_sd_below(rooted, stuck, work.person))


def _pointed_at(found: Standouts | None) -> frozenset[int]:
    lines = found.lines if found else ()
    return frozenset(line.label for line in lines if line.call is Call.NEEDS_A_LOOK)


def _two_sd_below(rooted: Floats, stuck: Floats, person: Ints) -> frozenset[int]:
    """Whom pooled cuttings put two standard deviations below the mean of all."""
    mean = rooted.sum() / stuck.sum()
    sizes = np.bincount(person, weights=stuck)
    shares = np.bincount(person, weights=rooted) / np.maximum(sizes, 1.0)
    low = shares < mean - 2.0 * np.sqrt(mean * (1.0 - mean) / np.maximum(sizes, 1.0))
    return frozenset(int(place) for place in np.flatnonzero(low & (sizes > 0)))


def _truly_below(rates: Floats, usual: Floats, person: Ints) -> frozenset[int]:
    """Who is truly more than five points below what the others would have done."""
    gaps = rates - usual
    numbers, sums = np.bincount(person), np.bincount(person, weights=gaps)
    others = (gaps.sum() - sums) / np.maximum(len(gaps) - numbers, 1)
    own = sums / np.maximum(numbers, 1)
    return frozenset(int(place) for place in np.flatnonzero(own - others < -MARGIN))


def make(runs: int, seed: int) -> Iterator[Table]:
    """Yield how often an innocent one is pointed at and a worse one found."""
    rng = np.random.default_rng(seed)
    cases = {
        "all alike": {},
        "all differ a little (sd 0.15 logit)": {"spread_logit": 0.15},
        "one 10 points worse": {"deficit": 0.10},
        "one 20 points worse": {"deficit": 0.20},
        "the same, all differing a little": {"deficit": 0.20, "spread_logit": 0.15},
    }
    rows = []
    for people, batches in SITES:
        for says, case in cases.items():
            ours, plain = scores(people=people, batches=batches, runs=runs, rng=rng, **case)
            rows.append(
                (
                    f"{people} people, {batches} batches",
                    says,
                    *(percent(x, decimals=1) for x in (ours.innocent, ours.found)),
                    *(percent(x, decimals=1) for x in (plain.innocent, plain.found)),
                )
            )
    yield Table(
        title="Per cent of reports that point at somebody innocent, or at the one who is worse",
        columns=(
            "nursery",
            "truth",
            "innocent, ours",
            "found, ours",
            "innocent, plain 2 sd",
            "found, plain 2 sd",
        ),
        rows=tuple(rows),
    )


CLAIM: Final = Claim(
    name="standing-out",
    shows="Nobody innocent is pointed at, and who is truly worse is found.",
    runs=300,
    make=make,
)
