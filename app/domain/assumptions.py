"""Every starting value that nobody published, and what the nursery has learned in its place.

A value that is learned stands as an assumption until there is a fit; a rule that was set is an
assumption for good.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import exp, log, sqrt
from typing import Final

from app.domain.fit_records import FEWEST_FINISHED
from app.domain.nursery_fits import (
    MONTHS_FROM,
    START_CONCENTRATIONS,
    START_ONSET_SDS,
    NurseryFit,
)
from app.domain.order_plans import USUAL_READY, USUAL_WEANING_DAYS
from app.domain.order_rates import PUBLISHED_CUTTINGS
from app.domain.order_times import LATEST_SHARE
from app.domain.outlooks import FEWEST_FOR_TIMES
from app.domain.rooting_times import EVERY_TYPE, WHOLE_NURSERY, rooting_times
from app.domain.rooting_words import day_range
from app.domain.standings import COMMON_PRACTICE
from app.domain.stock_needs import FEWEST_RECORDS, WITHOUT_RECORDS
from app.domain.strike_rates import ASSUMED_CORRELATION, FEW_BATCHES, LANDMARK_DAYS
from app.domain.strike_rates_words import percent
from app.domain.thermal_times import CARRIED_DAYS, FEWEST_LOGGED, LEAST_LOGGED
from app.stats.clusters import effective_size
from app.stats.enough_counts import MOST_TIMES
from app.stats.failure_curves import START_MEDIAN as FAILING_DAY
from app.stats.failure_curves import START_SHARE
from app.stats.look_rules import (
    BUDGET,
    FINISH_ITEMS,
    FINISH_SHARE,
    LATE_AFTER,
    LATE_SHARE,
    LONGEST_GAP,
    SHORTEST_GAP,
)
from app.stats.onset_trees import START_MEDIAN, START_SCALE
from app.stats.thermal_clocks import BASE_C

NO_SOURCE: Final = "an assumption, no source"
SET_RULE: Final = f"a rule as it was set: {NO_SOURCE}"
_EXAMPLE: Final = 300


@dataclass(frozen=True, kw_only=True)
class Assumption:
    """A value in words: where it started, what is in use now, and with what standing."""

    what: str
    start: str
    now: str
    standing: str


@dataclass(frozen=True, kw_only=True)
class AssumptionGroup:
    """Values that belong together, under a heading."""

    title: str
    lines: tuple[Assumption, ...]


def list_assumptions(fit: NurseryFit | None) -> tuple[AssumptionGroup, ...]:
    """Return every starting value and rule, with what was learned since if there is a `fit`."""
    return (
        AssumptionGroup(title="How much batches and groups differ", lines=_scatter(fit)),
        AssumptionGroup(title="How long cuttings take to root", lines=_times(fit)),
        AssumptionGroup(title="How cuttings that never root go", lines=_failing(fit)),
        AssumptionGroup(title="When to look", lines=_looks()),
        AssumptionGroup(title="How much must be known first", lines=_limits()),
        AssumptionGroup(title="What orders are worked out with", lines=_orders()),
    )


def _scatter(fit: NurseryFit | None) -> tuple[Assumption, ...]:
    _, months, methods, genera = START_CONCENTRATIONS
    learned = fit.concentrations if fit else START_CONCENTRATIONS
    season = "months" if fit and fit.finished >= MONTHS_FROM else "seasons"
    finished = fit.finished if fit else 0
    correlation = fit.correlation if fit else ASSUMED_CORRELATION
    return (
        _learned(
            "Two cuttings of one batch go together (correlation)",
            start=_correlation(ASSUMED_CORRELATION),
            now=_correlation(correlation),
            batches=finished,
        ),
        _learned(
            "Genera differ from the whole nursery",
            start=_points(genera),
            now=_points(learned[3]),
            batches=finished,
        ),
        _learned(
            "Methods (type and hormone) differ within a genus",
            start=_points(methods),
            now=_points(learned[2]),
            batches=finished,
        ),
        _learned(
            f"Months or seasons differ within a method (now {season})",
            start=_points(months),
            now=_points(learned[1]),
            batches=finished,
        ),
    )


def _times(fit: NurseryFit | None) -> tuple[Assumption, ...]:
    whole = rooting_times(fit, genus=WHOLE_NURSERY, cutting_type=EVERY_TYPE) if fit else None
    batches = whole.finished if whole else 0
    scale = fit.onset_scale if fit else START_SCALE
    batch, kind, genus = fit.onset_sds if fit else START_ONSET_SDS
    start_batch, start_kind, start_genus = START_ONSET_SDS
    middle = f"about {START_MEDIAN:g} days"
    return (
        _learned(
            "Half of those that root have, whole nursery",
            start=middle,
            now=day_range(whole.half) if whole else middle,
            batches=batches,
        ),
        _learned(
            "Spread of rooting days within a batch",
            start=_spread(START_SCALE),
            now=_spread(scale),
            batches=batches,
        ),
        _learned(
            "Batches of one genus and type are faster or slower",
            start=_shift(start_batch),
            now=_shift(batch),
            batches=batches,
        ),
        _learned(
            "Types of one genus are faster or slower",
            start=_shift(start_kind),
            now=_shift(kind),
            batches=batches,
        ),
        _learned(
            "Genera are faster or slower",
            start=_shift(start_genus),
            now=_shift(genus),
            batches=batches,
        ),
    )


def _failing(fit: NurseryFit | None) -> tuple[Assumption, ...]:
    curve = fit.failures[0] if fit else None
    batches = curve.clusters if curve else 0
    share = curve.share if curve else START_SHARE
    day = exp(curve.log_median) if curve else FAILING_DAY
    return (
        _learned(
            "Of cuttings that never root, so many fail by themselves; the rest linger",
            start=percent(START_SHARE),
            now=percent(share),
            batches=batches,
        ),
        _learned(
            "Half of those that fail have, whole nursery",
            start=f"about {FAILING_DAY:g} days",
            now=f"about {day:.0f} days",
            batches=batches,
        ),
    )


def _looks() -> tuple[Assumption, ...]:
    return tuple(
        _rules(
            (
                "A count is due once rooted ones have stood",
                f"{BUDGET:g} days between them, such as 8 of them for 5 days each",
            ),
            ("A count is due at the earliest", f"{SHORTEST_GAP} days after the last"),
            ("A count is due at the latest", f"{LONGEST_GAP} days after the last"),
            (
                "A count is late once of what will still root",
                f"{percent(LATE_SHARE)} has, but {LATE_AFTER} days after it was due or later",
            ),
            (
                "It is time to finish when no more are expected than",
                f"{FINISH_ITEMS:g} cuttings, or {percent(FINISH_SHARE)} of those stuck",
            ),
        )
    )


def _limits() -> tuple[Assumption, ...]:
    return tuple(
        _rules(
            ("Anything is learned from", f"{FEWEST_FINISHED} finished batches on"),
            ("Counts are timed by it from", f"{FEWEST_FOR_TIMES} of them of the genus on"),
            ("Months stand for themselves, not seasons, from", f"{MONTHS_FROM} of them on"),
            ("A group is called few below", f"{FEW_BATCHES} batches"),
            (
                "Open batches are old enough for rooted of stuck from",
                f"{LANDMARK_DAYS} days at the last count on",
            ),
            (
                "Warmth is compared with days from",
                f"{FEWEST_LOGGED} batches on, the medium known on {percent(LEAST_LOGGED)} of days",
            ),
            (
                "A reading of the medium holds",
                f"for its day and {CARRIED_DAYS} more",
            ),
            ("Warmth is counted above", f"{BASE_C:g} °C"),
        )
    )


def _orders() -> tuple[Assumption, ...]:
    return (
        *_rules(
            (
                "What was published elsewhere counts as",
                f"one batch of {PUBLISHED_CUTTINGS} cuttings",
            ),
            ("The latest day leaves time to root for", f"{percent(LATEST_SHARE)} of those that do"),
            ("There is no plan beyond", f"{MOST_TIMES} cuttings for each plant"),
            (
                "Losses after rooting differ between batches by",
                f"a correlation of {ASSUMED_CORRELATION:.2f}",
            ),
        ),
        *_practice(
            ("Of the rooted ones so many are ready in the end", percent(USUAL_READY)),
            ("They are ready after rooting in", f"{USUAL_WEANING_DAYS} days"),
            (
                f"Below {FEWEST_RECORDS} recorded cuts a stock plant is counted with",
                f"{WITHOUT_RECORDS:g} times what it gave or is expected to give",
            ),
        ),
    )


def _practice(*values: tuple[str, str]) -> Iterable[Assumption]:
    return (
        Assumption(what=what, start=value, now=value, standing=COMMON_PRACTICE)
        for what, value in values
    )


def _learned(what: str, *, start: str, now: str, batches: int) -> Assumption:
    standing = NO_SOURCE
    if batches:
        noun = "batch" if batches == 1 else "batches"
        standing = f"learned from {batches:,} finished {noun}"
    return Assumption(what=what, start=start, now=now if batches else start, standing=standing)


def _rules(*rules: tuple[str, str]) -> Iterable[Assumption]:
    return (
        Assumption(what=what, start=value, now=value, standing=SET_RULE) for what, value in rules
    )


def _correlation(correlation: float) -> str:
    worth = max(1, round(effective_size(_EXAMPLE, correlation=correlation)))
    return f"{correlation:.2f}: a batch of {_EXAMPLE} tells as much as {worth:,} separate cuttings"


def _points(concentration: float) -> str:
    """Return a concentration k with the standard deviation of a share round one half."""
    points = 100.0 * sqrt(0.25 / (concentration + 1.0))
    return f"by about {points:.0f} points (concentration {concentration:.0f})"


def _spread(scale: float) -> str:
    """Return a scale s of the log-logistic curve: its 9-in-10 day is 9^s times its middle one."""
    times = exp(scale * log(9.0))
    return f"{scale:.2f}: 9 in 10 by {times:.1f} times the middle day"


def _shift(sd: float) -> str:
    return f"by about {100.0 * sd:.0f} % ({sd:.2f} on the log scale)"
