"""What stands out said in words: where to look, with how many batches behind it."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from app.domain.comparisons_words import listed, points_words, range_of_points
from app.domain.standouts_calls import Call
from app.domain.standouts_questions import StandoutBy
from app.domain.strike_rates_words import batches, percent

if TYPE_CHECKING:
    from app.domain.standouts import Standout, Standouts

_TWO_SIDED: Final = 1.959964
CAUTION: Final = (
    "It says where to look, not whose fault it is: what else went with it, such as material, bench"
    " or mix, may be the reason."
)
_INSEPARABLE: Final = (
    "nearly always went with plants, methods or months of their own: nothing can be said of these."
)
_BATCHES: Final = (
    "Batches: finished ones, and those with less than three cuttings in ten unknown, which count"
    " for what they are worth with the unknown ones at their usual odds. Re-stuck ones are left"
    " out."
)
_DIFFERENCE: Final = (
    "Difference: rooted less expected over the batches of each, divided by what the expectation had"
    " not already taken in from these very batches."
)
_CHANCE: Final = (
    "Chance: each difference leans on how much the others really differ (at least two points); what"
    " is left is the chance that it lies more than five points below. Above 90 % it needs a look,"
    " above 80 % look closer, and never under three batches."
)


def headline(found: "Standouts | None", *, by: StandoutBy, names: Mapping[int, str]) -> str:
    """Return in one sentence what needs a look, or that nothing does."""
    if found is None:
        return f"There are not two {by.plural} with a finished batch to hold together."
    called = [(line, names[line.label]) for line in found.lines if line.call]
    looks = [name for line, name in called if line.call is Call.NEEDS_A_LOOK]
    closer = [name for line, name in called if line.call is Call.LOOK_CLOSER]
    if looks:
        return f"{listed(looks)} {'needs' if len(looks) == 1 else 'need'} a look."
    if closer:
        return f"Look closer at {listed(closer)}."
    if not found.lines and found.inseparable:
        return (
            f"Nothing can be said of these {by.plural}: each nearly always went with plants,"
            " methods or months of its own."
        )
    if not found.lines:
        return f"None of the {by.plural} has three finished batches yet: nothing is said."
    return (
        "Nothing stands out: of none can it be said that it is more than five points below what"
        " was to be expected."
    )


def own_headline(found: "Standouts | None") -> str:
    """Return the sentence for somebody who sees only the own line."""
    if found is None or not found.lines:
        return "Fewer than three of your batches are finished: nothing is said yet."
    (line,) = found.lines
    if line.call:
        return f"Your batches: {line.call}, {batches(line.batches)} behind it."
    return "Your batches struck as was to be expected of them, as far as can be told."


def call_sentences(found: "Standouts | None", *, names: Mapping[int, str]) -> list[str]:
    """Return a sentence with the batches behind it for each label that is pointed at."""
    if found is None:
        return []
    return [_call_sentence(line, name=names[line.label]) for line in found.lines if line.call]


def quiet_sentences(found: "Standouts | None", *, shown: int) -> list[str]:
    """Return of how many nothing is said, and why; `shown` is how many lines a page shows."""
    if found is None or not found.lines:
        return []
    said = (
        (len(found.lines) - shown, "more stand lower in this list, all less likely to be worse."),
        (found.too_few, "with fewer than three finished batches: nothing is said of these."),
        (found.inseparable, _INSEPARABLE),
    )
    return [f"{number:,} {words}" for number, words in said if number > 0]


def difference_words(line: "Standout") -> str:
    """Return a label's difference with its 95 % range, "−12 points (−20 to −4)"."""
    low, high = (line.difference + side * _TWO_SIDED * line.se for side in (-1.0, 1.0))
    span = range_of_points(max(-1.0, low), high=min(1.0, high))
    return f"{points_words(line.difference)} ({span})"


def workings(found: "Standouts | None", *, correlation: float) -> Sequence[str]:
    """Return how it was worked out, with the numbers."""
    if found is None:
        return ()
    held = listed(found.held) if found.held else "nothing, since nothing varies"
    expected = (
        f"Expected: a logistic regression on {held} of {batches(found.batches)}, each worth"
        f" n / (1 + (n − 1) × {correlation:.2f}) separate cuttings. It does not know who, where or"
        " what is looked over here."
    )
    scattered = (
        f"Batches scattered {found.dispersion:.2f} times as much as the correlation says; above 1,"
        " this widens every range."
    )
    return (_BATCHES, expected, _DIFFERENCE, scattered, _CHANCE)


def _call_sentence(line: "Standout", *, name: str) -> str:
    return (
        f"{name}: {line.call}, {batches(line.batches)} behind it. {percent(line.observed)} rooted"
        f" where {percent(line.expected)} was to be expected of this work."
    )
