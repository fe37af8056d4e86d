"""Comparisons said in words: the verdict in one sentence, and what stands beside it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import floor
from typing import TYPE_CHECKING, Final

from app.domain.comparisons_verdicts import FEWEST_BATCHES, Verdict
from app.domain.cutting_types import CuttingType
from app.domain.days import MONTHS
from app.domain.people import Actor
from app.domain.permissions import Permission, allowed
from app.domain.strike_rates_keys import NOT_RECORDED
from app.domain.strike_rates_words import batches

if TYPE_CHECKING:
    from app.domain.comparisons import Comparison, Side
    from app.domain.comparisons_answers import ComparisonAnswer
    from app.domain.comparisons_batches import ComparisonRecords
    from app.domain.comparisons_checks import Together

SOMEBODY: Final = "one person"
_TYPES: Final = {place: kind.value for place, kind in enumerate(CuttingType, start=1)}
_SMALL_POINTS: Final = 0.01


@dataclass(frozen=True, kw_only=True)
class Names:
    """How a page calls the two levels, and what the numbers of things held alike stand for."""

    one: str
    other: str
    held: Mapping[str, Mapping[int, str]]

    def of(self, together: "Together") -> str:
        """Return the level that went together with one side."""
        if together.held is None:
            return NOT_RECORDED
        label = together.held.value
        return self.held[label].get(together.level, f"{label} {NOT_RECORDED}")


def names_of(
    records: "ComparisonRecords", *, one: str, other: str, seasons: Sequence[str], actor: Actor
) -> Names:
    """Return the names for a page of this person, who may not be told who did what."""
    everybody = allowed(actor.role, Permission.SEE_EVERYBODY)
    people = {
        number: name if everybody or number == actor.person_id else SOMEBODY
        for number, name in records.people.items()
    }
    return Names(
        one=one,
        other=other,
        held={
            "genus": records.genera,
            "month": dict(enumerate(MONTHS, start=1)),
            "season": dict(enumerate(seasons)),
            "person": people,
            "cutting type": _TYPES,
            "hormone": records.hormones,
        },
    )


def points_words(difference: float) -> str:
    """Return a difference (-1 to 1) as signed points, "+6", "−3" or "+0.4"."""
    figure = 100.0 * abs(difference)
    rounded = f"{figure:.1f}" if abs(difference) < _SMALL_POINTS else str(floor(figure + 0.5))
    if not float(rounded):
        return "0"
    return f"{'−' if difference < 0.0 else '+'}{rounded}"


def range_of_points(low: float, *, high: float) -> str:
    """Return a range of differences as "−4 to +19"."""
    return f"{points_words(low)} to {points_words(high)}"


def verdict_sentence(comparison: "Comparison", *, names: Names) -> str:
    """Return the verdict on two levels in one sentence."""
    match comparison.verdict:
        case Verdict.NOTHING:
            return _nothing(comparison, names=names)
        case Verdict.TOO_FEW:
            return (
                f"Too few to compare: {_of_level(comparison.one, names.one)},"
                f" {_of_level(comparison.other, names.other)}. {FEWEST_BATCHES} on each side are"
                " the least."
            )
        case Verdict.NOT_SEPARABLE:
            return f"This cannot be separated: {_went_together(comparison, names=names)}."
        case Verdict.NO_DIRECT:
            return _no_direct(comparison)
    difference = comparison.difference
    assert difference is not None  # noqa: S101 - every verdict left has a difference
    return range_sentence(
        comparison.verdict,
        points=difference.points,
        low=difference.low,
        high=difference.high,
        said=(f"{names.one} against {names.other}", batches(comparison.batches)),
    )


def range_sentence(
    verdict: Verdict, *, points: float, low: float, high: float, said: tuple[str, str]
) -> str:
    """Return a range of differences as its verdict says it; `said` is what, and from how much."""
    what, much = said
    span = range_of_points(low, high=high)
    match verdict:
        case Verdict.DIFFERENCE:
            return f"{what}: {points_words(points)} points ({span}), {much}."
        case Verdict.NO_MATTER:
            return f"{what}: no difference that matters, {span} points, {much}."
        case Verdict.NOT_LARGE:
            return f"{what}: no large difference; anything from {span} points fits, {much}."
        case _:
            return f"{what}: not enough evidence; anything from {span} points fits, {much}."


def genus_sentences(answer: "ComparisonAnswer", *, names: Names) -> list[str]:
    """Return what is said of the one genus asked about: leaning on the others, and them all."""
    whole = verdict_sentence(answer.whole, names=names)
    if answer.genus is None:
        return [whole]
    genus, line = answer.genus.name, answer.genus.leaning
    if line is None:
        alone = verdict_sentence(answer.genus.alone, names=names)
        return [f"{genus} by itself: {alone}", f"All genera: {whole}"]
    leaning = range_sentence(
        line.verdict,
        points=line.points,
        low=line.low,
        high=line.high,
        said=(
            f"{genus}, {names.one} against {names.other}",
            f"{batches(line.one + line.other)}, leaning on the other genera",
        ),
    )
    return [leaning, f"All genera: {whole}"]


def more_sentence(comparison: "Comparison") -> str:
    """Return how many more batches would do, or nothing where none are asked for."""
    if comparison.more is None or comparison.model is None:
        return ""
    more, size = comparison.more, comparison.model.usual_size
    count = f"{more.each_way:,} more {'batch' if more.each_way == 1 else 'batches'}"
    return (
        f"About {count} of {size} cuttings each way, dealt out evenly between genera, seasons and"
        f" people, would show a difference of {points_words(more.points)[1:]} points four times"
        " out of five."
    )


def listed(words: Sequence[str]) -> str:
    """Return words as "genus, season and person"."""
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last


def _nothing(comparison: "Comparison", *, names: Names) -> str:
    empty = [
        name
        for side, name in ((comparison.one, names.one), (comparison.other, names.other))
        if side.batches == 0
    ]
    waits = comparison.one.left_out + comparison.other.left_out
    later = f" {batches(waits)} of them not finished yet." if waits else ""
    return f"Nothing to compare: no finished batch of {' nor of '.join(empty)}.{later}"


def _of_level(side: "Side", name: str) -> str:
    return f"{batches(side.batches)} of {name}"


def _went_together(comparison: "Comparison", *, names: Names) -> str:
    found = comparison.together
    if found is None or found.held is None:
        held = comparison.model.held if comparison.model else ()
        named = listed([each.value for each in held])
        return f"which of the two was used followed from {named}, taken together"
    often = "always" if found.always else "nearly always"
    side = names.one if found.one else names.other
    if found.alone:
        return f"{side} and {names.of(found)} {often} went together"
    return (
        f"{names.one} and {names.other} {often} went with a different {found.held.value}, such as"
        f" {side} with {names.of(found)}"
    )


def _no_direct(comparison: "Comparison") -> str:
    check, difference = comparison.check, comparison.difference
    assert check is not None  # noqa: S101 - both sides have batches
    assert difference is not None  # noqa: S101 - as above
    by = [each.value for each in check.by if each.value != "genus"]
    met = {"person": "in the same hands", "season": "in the same season"}
    where = " and ".join(met[name] for name in reversed(by))
    return (
        f"No direct comparison: the two never met {where}. This leans on {listed(by)} adding up;"
        f" so taken, anything from {range_of_points(difference.low, high=difference.high)} points"
        " fits."
    )
