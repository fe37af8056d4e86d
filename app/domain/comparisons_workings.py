"""How a comparison was worked out: the numbers put into each step, in sentences."""

from typing import TYPE_CHECKING, Final

from app.domain.comparisons_verdicts import (
    FEWEST_BATCHES,
    LEAST_COMPARABLE,
    UNFAIR,
    Verdict,
)
from app.domain.comparisons_words import Names, listed, points_words, range_of_points
from app.domain.strike_rates_words import batches, cuttings, percent
from app.stats.adjusted_differences import RIDGE_SD

if TYPE_CHECKING:
    from app.domain.comparisons import Comparison, Model, Side
    from app.domain.comparisons_answers import ComparisonAnswer
    from app.domain.comparisons_checks import LikeWithLike
    from app.stats.adjusted_differences import Difference

_SMALL_DIFFERENCE: Final = 0.05
_PER: Final = 1000
_MANY_LEFT_OUT: Final = 0.2
_GENERA: Final = (
    "Genus by genus, each effect may differ from the common one; by how much they differ was"
    " learned from them all:"
)


def remarks(answer: "ComparisonAnswer", *, names: Names) -> list[str]:
    """Return what a reader must know beside the verdict, a sentence each."""
    whole = answer.main
    said = [
        _small(whole),
        _few_of_genus(answer, names=names),
        _against_check(whole),
        _left_out(whole),
        _both_sides(answer),
    ]
    return [sentence for sentence in said if sentence]


def check_sentence(comparison: "Comparison") -> str:
    """Return the like-with-like difference with how often chance alone would do as much."""
    check = comparison.check
    if check is None:
        return ""
    by = listed([each.value for each in check.by])
    if check.points is None:
        return f"Like with like: no two batches of the same {by} were done differently."
    worth = max(1, round(check.worth))
    return (
        f"Like with like, only batches of the same {by}: {points_words(check.points)} points, from"
        f" what tells us as much as {worth:,} separate {'cutting' if worth == 1 else 'cuttings'} on"
        f" the smaller side. {_chance(check)}"
    )


def workings(answer: "ComparisonAnswer", *, names: Names) -> list[str]:
    """Return the steps with their numbers."""
    whole = answer.main
    model, difference, check = whole.model, whole.difference, whole.check
    if model is None or difference is None or check is None:
        return []
    if whole.verdict in {Verdict.TOO_FEW, Verdict.NOT_SEPARABLE}:
        # A difference that must not be shown is not shown here either.
        return [
            _who_counts(whole),
            _worths(whole, model=model, names=names),
            _left_to_compare(whole, model=model),
        ]
    return [
        _who_counts(whole),
        _worths(whole, model=model, names=names),
        _regression(whole, model=model, difference=difference),
        _sides(whole, names=names),
        _range(model=model, difference=difference),
        _left_to_compare(whole, model=model),
        _met(check),
        *_genera(answer),
        *_more(whole),
    ]


def plain_sentence(comparison: "Comparison") -> str:
    """Return what the bare shares would have said, or nothing where there are none."""
    points = comparison.plain_points
    if points is None or comparison.verdict is Verdict.TOO_FEW:
        return ""
    if comparison.verdict is Verdict.NOT_SEPARABLE:
        return f"The bare rates differ by {points_words(points)} points; why, nobody can tell."
    return f"With nothing held alike it would have been {points_words(points)} points."


def _small(whole: "Comparison") -> str:
    difference = whole.difference
    if difference is None or whole.verdict is not Verdict.DIFFERENCE:
        return ""
    if max(abs(difference.low), abs(difference.high)) >= _SMALL_DIFFERENCE:
        return ""
    return "It is there, but it is smaller than five points."


def _few_of_genus(answer: "ComparisonAnswer", *, names: Names) -> str:
    if answer.genus is None:
        return ""
    genus, alone = answer.genus.name, answer.genus.alone
    if alone.batches == 0:
        return ""
    sides = ((alone.one.batches, names.one), (alone.other.batches, names.other))
    few = [f"{batches(number)} of {name}" for number, name in sides if number < FEWEST_BATCHES]
    if not few or answer.genus.leaning is None:
        return ""
    return f"{genus} itself has only {listed(few)}: this leans almost wholly on the others."


def _against_check(whole: "Comparison") -> str:
    difference, check = whole.difference, whole.check
    if whole.verdict in UNFAIR or difference is None or check is None or check.points is None:
        return ""
    if difference.low <= check.points <= difference.high:
        return ""
    return "Like with like says otherwise: take the figure with care."


def _left_out(whole: "Comparison") -> str:
    number = whole.one.left_out + whole.other.left_out
    if not number:
        return ""
    were = "is" if number == 1 else "are"
    sentence = f"{batches(number)} {were} left out: too many of the cuttings have no outcome yet."
    if max(_left_out_share(whole.one), _left_out_share(whole.other)) < _MANY_LEFT_OUT:
        return sentence
    return f"{sentence} That is many, and they may turn out differently: ask again later."


def _left_out_share(side: "Side") -> float:
    return side.left_out / max(1, side.left_out + side.batches)


def _both_sides(answer: "ComparisonAnswer") -> str:
    if not answer.both_sides:
        return ""
    were = "is" if answer.both_sides == 1 else "are"
    return f"{batches(answer.both_sides)} {were} left out that belong to both."


def _chance(check: "LikeWithLike") -> str:
    if check.chance is None:
        return ""
    times = max(1, round(_PER * check.chance))
    how = (
        f"Shuffling which was which {check.shuffles} times among them"
        if check.shuffles
        else "By the mean and spread of all ways to shuffle which was which among them"
    )
    return f"{how}, chance alone does as much in {times:,} of {_PER:,}."


def _who_counts(whole: "Comparison") -> str:
    nearly = whole.one.nearly + whole.other.nearly
    said = f"{batches(whole.batches)} compared"
    if nearly:
        said += (
            f", {nearly} of them not finished but with less than three cuttings in ten unknown;"
            " these count for what they are worth with the unknown ones at their usual odds"
        )
    return f"{said}."


def _worths(whole: "Comparison", *, model: "Model", names: Names) -> str:
    sides = ((whole.one, names.one), (whole.other, names.other))
    told = " ".join(_worth(side, name) for side, name in sides)
    return (
        f"Each batch of n cuttings counts as n / (1 + (n − 1) × {model.correlation:.2f}) separate"
        f" ones, since cuttings of one batch stand or fall together. {told}"
    )


def _worth(side: "Side", name: str) -> str:
    worth = max(1, round(side.effective))
    return f"{name}: {cuttings(side.stuck)}, which tell us as much as {worth:,} separate ones."


def _range(*, model: "Model", difference: "Difference") -> str:
    return (
        f"Range: {_points(difference.points)} ± {_reach(difference)} ×"
        f" {_points(difference.se)} points. Batches scattered {model.dispersion:.2f} times as much"
        " as the correlation says; above 1, this widens the range."
    )


def _left_to_compare(whole: "Comparison", *, model: "Model") -> str:
    held = listed([each.value for each in model.held]) if model.held else "anything else"
    return (
        f"Left to compare: {_points(whole.comparable)} % of what separates the two did not go"
        f" together with {held}. Under {percent(LEAST_COMPARABLE)} nothing is said."
    )


def _met(check: "LikeWithLike") -> str:
    by = [each.value for each in check.by if each.value != "genus"]
    where = f"of the same {listed(by)}" if by else "at all"
    return (
        f"Batches {where} that were done either way: what tells us as much as"
        f" {round(check.met):,} separate cuttings on the smaller side. With none there is no direct"
        " comparison."
    )


def _regression(whole: "Comparison", *, model: "Model", difference: "Difference") -> str:
    held = listed([each.value for each in model.held]) if model.held else "nothing, as none varies"
    return (
        f"Held alike: {held}. A logistic regression of {model.columns} coefficients on"
        f" {batches(whole.batches)} ({difference.df:.0f} degrees of freedom), each but the first"
        f" held loosely near zero (normal, standard deviation {RIDGE_SD})."
    )


def _sides(whole: "Comparison", *, names: Names) -> str:
    one, other = whole.one.like_share or 0.0, whole.other.like_share or 0.0
    return (
        f"Had all {batches(whole.batches)} been of {names.one}, {_points(one)} % would have"
        f" rooted; had they been of {names.other}, {_points(other)} %. The difference is"
        f" {_points(one - other)} points."
    )


def _genera(answer: "ComparisonAnswer") -> list[str]:
    if answer.genera is None:
        return []
    return [f"{_GENERA} {answer.genera.spread:.2f} on the logit scale."]


def _more(whole: "Comparison") -> list[str]:
    if whole.more is None or whole.difference is None:
        return []
    told = range_of_points(whole.difference.low, high=whole.difference.high)
    wanted = points_words(whole.more.points)[1:]
    sentence = (
        f"More batches: as many as bring the range {told} down so far that a difference of"
        f" {wanted} points shows with 80 % certainty, less what the batches so far already tell."
    )
    return [sentence]


def _reach(difference: "Difference") -> str:
    raw = max(difference.high - difference.points, difference.points - difference.low)
    return f"{raw / difference.se:.2f}"


def _points(share: float) -> str:
    return f"{100.0 * share:.1f}".replace("-", "−")
