"""Strike rates said in words: what a page prints beside, and instead of, a bare number."""

from math import floor
from typing import Final

from app.domain.strike_rates import (
    ASSUMED_CORRELATION,
    LANDMARK_DAYS,
    Basis,
    RateOf,
    RateSquare,
    Tally,
)
from app.domain.strike_rates_questions import Restuck, Ways
from app.stats.clusters import effective_size

NO_DATA: Final = "no data"
_EXAMPLE_BATCH: Final = 300
MOSTLY_FORECAST: Final = 0.6
_BASES: Final = {
    Basis.FINISHED: "finished",
    Basis.LANDMARK: f"so far, at {LANDMARK_DAYS} days or more",
    Basis.BOUNDS: "not all known",
    Basis.FORECAST: "forecast",
    Basis.NONE: NO_DATA,
}
_LATER_ROOTS: Final = "What roots later is not in it."


def percent(share: float) -> str:
    """Return a share as a whole percentage; one that only rounds to 0 or 100 says so."""
    whole = _whole(share)
    if whole == 0 and share > 0.0:
        return "under 1 %"
    if whole == 100 and share < 1.0:
        return "over 99 %"
    return f"{whole} %"


def range_words(low: float, *, high: float) -> str:
    """Return the two ends of a range as "58 to 80 %"."""
    return f"{_whole(low)} to {_whole(high)} %"


def cuttings(number: int) -> str:
    """Return "1 cutting" or "1,020 cuttings"."""
    return f"{number:,} cutting" if number == 1 else f"{number:,} cuttings"


def batches(number: int) -> str:
    """Return "1 batch" or "14 batches"."""
    return f"{number:,} batch" if number == 1 else f"{number:,} batches"


def counts_words(tally: Tally) -> str:
    """Return what became of how many: "412 stuck 201 rooted, 64 lost, 147 unrooted"."""
    return f"{tally.stuck:,} stuck {outcome_words(tally)}"


def outcome_words(tally: Tally) -> str:
    """Return what became of the cuttings: "201 rooted, 64 lost, 147 unrooted"."""
    states = (
        (tally.lost, "lost"),
        (tally.dumped, "dumped"),
        (tally.cleared_unrooted, "cleared unrooted"),
        (tally.unrooted, tally.of.open),
    )
    rooted = f"{tally.rooted:,} {tally.of.made}" if tally.rooted else f"none {tally.of.made}"
    return ", ".join([rooted, *(f"{number:,} {state}" for number, state in states if number)])


def bounds_words(low: float, *, high: float) -> str:
    """Return the two ends of what may become of some cuttings, as worst and best."""
    worst = percent(low) if low > 0.0 else "none of them"
    best = percent(high) if high < 1.0 else "all of them"
    if worst == best and 0.0005 <= low <= high < 0.9995:
        worst, best = f"{100.0 * low:.1f} %", f"{100.0 * high:.1f} %"
    return f"at worst {worst}, at best {best}"


def estimate_words(square: RateSquare) -> str:
    """Return the estimate with its range: "72 % (58 to 80 %)", its bounds, or "no data"."""
    low, high = square.estimate_low_share, square.estimate_high_share
    if low is None or high is None:
        return NO_DATA
    if square.estimate_share is None:
        return bounds_words(low, high=high)
    return f"{percent(square.estimate_share)} ({range_words(low, high=high)})"


def rate_sentence(square: RateSquare) -> str:
    """Return counts and estimate in one sentence, or that there is no data."""
    if square.basis is Basis.NONE:
        return "No data."
    return f"Of {counts_words(square.facts.every)}: {estimate_words(square)}."


def basis_sentence(square: RateSquare) -> str:
    """Return in words what the estimate rests on."""
    every = square.facts.every
    match square.basis:
        case Basis.NONE:
            return "No batch answers to this yet."
        case Basis.FINISHED:
            return "The batch is finished." if every.batches == 1 else "All batches are finished."
        case Basis.LANDMARK if square.facts.finished.batches == 0:
            who = "The batch was" if every.batches == 1 else "All batches were"
            return f"{who} at least {LANDMARK_DAYS} days old at the last count. {_LATER_ROOTS}"
        case Basis.LANDMARK:
            return (
                f"All batches are finished or were at least {LANDMARK_DAYS} days old"
                f" at the last count. {_LATER_ROOTS}"
            )
        case Basis.BOUNDS:
            return _bounds_sentence(square)
        case Basis.FORECAST:
            return _forecast_sentence(square)


def basis_words(basis: Basis) -> str:
    """Return in a few words what an estimate rests on, for a square of a table."""
    return _BASES[basis]


def chance_sentence(square: RateSquare) -> str:
    """Return how far the rate behind bounds may lie when batches differ, else nothing."""
    widest = square.facts.every.widest_interval
    if square.basis is not Basis.BOUNDS or widest is None:
        return ""
    return (
        "That is what may become of these very cuttings. The rate behind them may be anything"
        f" from {range_words(widest.low, high=widest.high)}, since batches differ."
    )


def leaning_sentence(square: RateSquare) -> str:
    """Return whether the estimate leans on others, nothing where none was learned."""
    if square.learned is None:
        return ""
    if square.learned.leans:
        return "Leans on the wider group, the more so the fewer batches it has of its own."
    return "Stands by itself: it leans on no other group."


def plain_sentence(square: RateSquare) -> str:
    """Return the plain share of the finished batches beside a learned estimate, else nothing."""
    low, high = square.low_share, square.high_share
    if square.learned is None or square.strike_share is None or low is None or high is None:
        return ""
    finished = square.facts.finished
    plain = f"{percent(square.strike_share)} ({range_words(low, high=high)})"
    return f"Plainly counted, of {batches(finished.batches)} finished: {plain}."


def few_sentence(square: RateSquare) -> str:
    """Return a warning where there are fewer than three batches, else nothing."""
    if not square.few:
        return ""
    return f"Few: only {batches(square.facts.every.batches)}. A next batch can turn out otherwise."


def weight_sentence(square: RateSquare) -> str:
    """Return how many separate cuttings the group is worth, or nothing where there is none."""
    if square.basis is Basis.NONE:
        return ""
    worth = max(1, _half_up(square.effective_cuttings))
    noun = "cutting" if worth == 1 else "cuttings"
    return f"Tells us as much as {worth:,} separate {noun}."


def outside_sentence(square: RateSquare) -> str:
    """Return why the share stands outside its range, where it does, else nothing."""
    if not square.is_outside:
        return ""
    return (
        "Large and small batches turned out so differently that the share of all cuttings lies"
        " outside the range, which weighs each batch by how much it tells us."
    )


def correlation_sentence(correlation: float = ASSUMED_CORRELATION, *, finished: int = 0) -> str:
    """Return what every interval rests on: how alike cuttings of one batch are.

    `finished` is the number of finished batches it was learned from, 0 where it is assumed.
    """
    worth = effective_size(_EXAMPLE_BATCH, correlation=correlation)
    whence = (
        f"Learned from this nursery's {finished:,} finished batches"
        if finished
        else "Assumed until this nursery's own figure is known"
    )
    return (
        "Cuttings of one batch stand or fall together, so every range here is wider than separate"
        f" cuttings would give. {whence}: a correlation of {correlation:.2f} between two cuttings"
        f" of one batch. A batch of {_EXAMPLE_BATCH} then tells us no more than"
        f" {_half_up(worth)} separate cuttings would."
    )


def _forecast_sentence(square: RateSquare) -> str:
    every = square.facts.every
    share = square.learned.forecast_share if square.learned else 0.0
    mostly = " This is mostly forecast." if share > MOSTLY_FORECAST else ""
    return (
        f"{cuttings(every.unknown).capitalize()} without an outcome ({percent(share)} of those"
        " stuck) are counted at the odds that cuttings still unrooted at their age have had here."
        f"{mostly}"
    )


def _bounds_sentence(square: RateSquare) -> str:
    young, every = square.facts.too_young, square.facts.every
    if every.of is RateOf.READY:
        return (
            f"{young:,} of {batches(every.batches)} {'is' if young == 1 else 'are'} not finished:"
            f" at worst none, at best all of the {cuttings(every.unknown)} without an outcome"
            " become plants that are ready."
        )
    who = (
        "The batch was"
        if every.batches == 1
        else f"{young:,} of {batches(every.batches)} {'was' if young == 1 else 'were'}"
    )
    return (
        f"{who} not {LANDMARK_DAYS} days old at the last count. At worst none, at best all of the"
        f" {cuttings(every.unknown)} without an outcome would root."
    )


def _whole(share: float) -> int:
    return _half_up(100.0 * share)


def _half_up(number: float) -> int:
    return floor(number + 0.5)


def ways_sentence(ways: Ways, *, others: int, asked: int) -> str:
    """Return what is said of divisions and grafts; "" where there are none.

    `others` batches of them would answer too, `asked` of how many types the filters name.
    """
    if not others:
        return ""
    were = f"{batches(others)} of divisions or grafts"
    if ways is Ways.CUTTINGS:
        return (
            f"{were} left out: divisions live and grafts take, which is no strike rate. Ask for "
            "the cutting type division or graft to see them."
        )
    if asked > 1:
        return f"{were} counted together with the others, as asked for."
    return "How alike those of one batch are is taken over from cuttings; nothing else is."


def restuck_sentence(restuck: Restuck, *, number: int) -> str:
    """Return what is said of the re-stuck batches among those asked about, "" without any."""
    if not number:
        return ""
    were = f"{batches(number)} re-stuck from another"
    if restuck is Restuck.WITHOUT:
        return f"{were} left out: what roots at a second try says little of the first."
    if restuck is Restuck.ONLY:
        return f"Only {were}: cuttings that had not rooted at their first sticking."
    return f"{were} counted too: their cuttings stand in two batches, cleared from the first."
