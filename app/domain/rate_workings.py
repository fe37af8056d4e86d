"""How a rate was worked out: each step as a formula, with its numbers put in, and in words."""

from dataclasses import dataclass

from app.domain.strike_rates import Basis, RateSquare, Tally
from app.domain.strike_rates_words import percent, range_words
from app.stats.clusters import effective_size
from app.stats.intervals import Interval, two_sided_z


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step: what it works out, its formula, the same with numbers, and what it means."""

    title: str
    formula: str
    numbers: str
    meaning: str


@dataclass(frozen=True, kw_only=True)
class CountedBatch:
    """A batch behind the rate: its code and the number stuck."""

    code: str
    stuck: int


@dataclass(frozen=True, kw_only=True)
class OpenBatch:
    """An open batch: how many are unrooted, at what age last counted, and how many more will."""

    code: str
    unrooted: int
    age_days: int
    expected: float


@dataclass(frozen=True, kw_only=True)
class RateContext:
    """What a rate is worked out from besides its counts.

    `correlation` is that of two cuttings of one batch, learned from `finished` batches or, with
    0, assumed. `wider` is the rate of the wider group that it leans on, None if it leans on none.
    """

    correlation: float
    finished: int
    example: CountedBatch | None
    wider: RateSquare | None
    open_batches: tuple[OpenBatch, ...] = ()


def steps_of(square: RateSquare, *, context: RateContext) -> tuple[Step, ...]:
    """Return the steps from the counts to the figure shown, those that were taken."""
    steps = (
        _plain(square),
        _bounds(square),
        _worth(square, context),
        _range(square),
        _leaning(square, context),
        _forecast(square, context),
    )
    return tuple(step for step in steps if step is not None)


def _plain(square: RateSquare) -> Step | None:
    finished, share = square.facts.finished, square.strike_share
    if share is None:
        return None
    made = finished.of.made
    return Step(
        title="The plain share of finished batches",
        formula=f"{made} / stuck",
        numbers=f"{finished.rooted:,} / {finished.stuck:,} = {percent(share)}",
        meaning=f"Lost and dumped ones count as not {made}. Open batches are not in it.",
    )


def _bounds(square: RateSquare) -> Step | None:
    every = square.facts.every
    if not every.unknown:
        return None
    worst, best = every.rooted / every.stuck, (every.rooted + every.unknown) / every.stuck
    return Step(
        title="At worst and at best",
        formula=f"{every.of.made} / stuck, and ({every.of.made} + without an outcome) / stuck",
        numbers=(
            f"{every.rooted:,} / {every.stuck:,} = {percent(worst)}, and "
            f"({every.rooted:,} + {every.unknown:,}) / {every.stuck:,} = {percent(best)}"
        ),
        meaning="Between these two these very cuttings must end.",
    )


def _worth(square: RateSquare, context: RateContext) -> Step | None:
    if context.example is None:
        return None
    rho, n = context.correlation, context.example.stuck
    worth = effective_size(n, correlation=rho)
    whence = (
        f"learned from {context.finished:,} finished batches of this nursery"
        if context.finished
        else "an assumption without a source, until this nursery's own is known"
    )
    return Step(
        title="How many separate cuttings the batches are worth",
        formula="the sum over batches of n / (1 + (n - 1) x correlation)",
        numbers=(
            f"{context.example.code}: {n:,} / (1 + {n - 1:,} x {rho:.3f}) = {worth:.1f}; "
            f"all {square.facts.every.batches:,} batches together {square.effective_cuttings:.1f}"
        ),
        meaning=(f"Cuttings of one batch stand or fall together. Correlation {rho:.3f}, {whence}."),
    )


def _range(square: RateSquare) -> Step | None:
    finished, interval = square.facts.finished, square.facts.finished.interval
    if interval is None:
        return None
    return Step(
        title="The 95 % range of the plain share",
        formula="(k + z²/2 ± z √(k (n - k) / n + z²/4)) / (n + z²)",
        numbers=_wilson_numbers(finished, interval),
        meaning="Wilson's range, on separate cuttings instead of all of them.",
    )


def _wilson_numbers(finished: Tally, interval: Interval) -> str:
    k, n = finished.effective_rooted, finished.effective_cuttings
    return (
        f"k = {k:.1f} of n = {n:.1f} separate cuttings, z = {two_sided_z():.3f}: "
        f"{range_words(interval.low, high=interval.high)}"
    )


def _leaning(square: RateSquare, context: RateContext) -> Step | None:
    learned = square.learned
    if learned is None:
        return None
    shown = f"{percent(learned.share)} ({range_words(learned.low_share, high=learned.high_share)})"
    if not learned.leans or context.wider is None:
        return Step(
            title="The figure shown",
            formula="chance of these counts at each possible rate, all rates alike beforehand",
            numbers=f"middle of what fits: {shown}",
            meaning="It stands by itself; how alike cuttings of a batch are is left a little open.",
        )
    wide = context.wider
    whence = (
        ""
        if wide.learned is None
        else (
            f"{percent(wide.learned.share)}"
            f" ({range_words(wide.learned.low_share, high=wide.learned.high_share)})"
        )
    )
    return Step(
        title="The figure shown, leaning on the wider group",
        formula="chance of these counts at each possible rate x what the wider group says of it",
        numbers=f"wider group: {whence}; this group: {shown}",
        meaning=(
            "How much it leans is learned too: little where groups differ much or have many"
            " batches, much where they are alike or few."
        ),
    )


def _forecast(square: RateSquare, context: RateContext) -> Step | None:
    if square.basis is not Basis.FORECAST or not context.open_batches:
        return None
    said = "; ".join(
        f"{batch.code}: {batch.unrooted:,} unrooted at day {batch.age_days}, about "
        f"{batch.expected:.0f} more to come"
        for batch in context.open_batches
    )
    return Step(
        title="The cuttings without an outcome",
        formula=(
            "odds that one still unrooted will root = odds of rooting at all x share of rooters not"
            " rooted by that age / share of the others still there at that age"
        ),
        numbers=said,
        meaning="Counted at these odds: not as failures, and not as if they did not exist.",
    )
