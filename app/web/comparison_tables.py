"""The answer to a comparison as its page shows it: sentences, lines of tables, a picture."""

from dataclasses import dataclass
from typing import Any

from app.domain.comparisons import Comparison, Side
from app.domain.comparisons_answers import ComparisonAnswer
from app.domain.comparisons_genera import GenusDifference
from app.domain.comparisons_questions import SEASONS, ComparisonQuestion
from app.domain.comparisons_strengths import StrengthDifference
from app.domain.comparisons_verdicts import UNFAIR
from app.domain.comparisons_words import (
    Names,
    genus_sentences,
    more_sentence,
    names_of,
    points_words,
    range_of_points,
    verdict_sentence,
)
from app.domain.comparisons_workings import check_sentence, plain_sentence, remarks, workings
from app.domain.people import Actor
from app.domain.strike_rates_words import percent
from app.web.difference_pictures import DifferenceLine, difference_picture
from app.web.rate_addresses import address, pairs_of


@dataclass(frozen=True, kw_only=True)
class SideLine:
    """One level in a line of the table; shares in words, `href` opens its batches."""

    name: str
    href: str
    side: Side
    plain: str
    like: str


@dataclass(frozen=True, kw_only=True)
class GenusLine:
    """One genus: its batches on each side, and its difference in words."""

    name: str
    one: int
    other: int
    points: str
    span: str
    verdict: str


@dataclass(frozen=True, kw_only=True)
class StrengthLine:
    """One strength against the base, with what holds after all of them were looked at."""

    name: str
    batches: int
    points: str
    span: str
    adjusted: str
    stands: bool


def shown_comparison(answer: ComparisonAnswer, *, actor: Actor) -> dict[str, Any]:
    """Return what the template shows to this person."""
    question, main = answer.question, answer.main
    names = names_of(
        answer.records,
        one=question.level_words(question.one),
        other=question.level_words(question.other),
        seasons=SEASONS,
        actor=actor,
    )
    sentences = genus_sentences(answer, names=names)
    said = (
        "" if answer.leans else more_sentence(main), *remarks(answer, names=names),
        check_sentence(main), plain_sentence(main),
    )  # fmt: skip
    return {
        "answer": answer,
        "headline": sentences[0],
        "further": sentences[1:],
        "remarks": [sentence for sentence in said if sentence],
        "alone": _alone(answer, names=names),
        "tables": _tables(answer, names=names),
        "genera": _genus_lines(answer),
        "strengths": [_strength_line(line) for line in answer.strengths],
        "base": question.level_words(_base(question, answer)) if answer.strengths else "",
        "steps": workings(answer, names=names),
        "picture": difference_picture(_lines(answer, names=names)),
        "names": names,
    }


def _tables(answer: ComparisonAnswer, *, names: Names) -> list[tuple[str, list[SideLine]]]:
    """Return each table of counts with its caption: of the genus asked about, and of all."""
    question = answer.question
    wide = question.with_all_genera if answer.genus else question
    tables = [("What was compared", _side_lines(answer.whole, question=wide, names=names))]
    if answer.genus:
        alone = _side_lines(answer.genus.alone, question=question, names=names)
        tables = [(f"{answer.genus.name} alone", alone), ("All genera", tables[0][1])]
    return tables


def _side_lines(
    comparison: Comparison, *, question: ComparisonQuestion, names: Names
) -> list[SideLine]:
    sides = (
        (names.one, question.one, comparison.one),
        (names.other, question.other, comparison.other),
    )
    return [
        SideLine(
            name=name,
            href=_behind(question, level),
            side=side,
            plain="no data" if side.plain_share is None else percent(side.plain_share),
            like="–"
            if side.like_share is None or comparison.verdict in UNFAIR
            else percent(side.like_share),
        )
        for name, level, side in sides
    ]


def _behind(question: ComparisonQuestion, level: str) -> str:
    narrowed = question.asked.narrowed(*question.level_filters(level))
    return address("strike_rates.show_batches", pairs_of(narrowed))


def _alone(answer: ComparisonAnswer, *, names: Names) -> str:
    if answer.genus is None or not answer.leans:
        return ""
    alone = answer.genus.alone
    by_itself = f"{verdict_sentence(alone, names=names)} {more_sentence(alone)}"
    return f"{answer.genus.name} by itself, leaning on nothing: {by_itself}".strip()


def _genus_lines(answer: ComparisonAnswer) -> list[GenusLine]:
    if answer.genera is None:
        return []
    lines = [
        GenusLine(
            name=answer.records.genera[line.genus],
            one=line.one,
            other=line.other,
            points=points_words(line.points),
            span=range_of_points(line.low, high=line.high),
            verdict=line.verdict.value,
        )
        for line in _told(answer)
    ]
    return sorted(lines, key=lambda line: line.name.casefold())


def _told(answer: ComparisonAnswer) -> list[GenusDifference]:
    """Return the genera that were done both ways; the others say nothing of their own."""
    lines = answer.genera.lines if answer.genera else ()
    return [line for line in lines if line.one and line.other]


def _strength_line(line: StrengthDifference) -> StrengthLine:
    return StrengthLine(
        name=line.level,
        batches=line.batches,
        points=points_words(line.points),
        span=range_of_points(line.low, high=line.high),
        adjusted=percent(line.adjusted),
        stands=line.stands,
    )


def _base(question: ComparisonQuestion, answer: ComparisonAnswer) -> str:
    asked = {line.level for line in answer.strengths}
    return question.other if question.one in asked else question.one


def _lines(answer: ComparisonAnswer, *, names: Names) -> list[DifferenceLine]:
    whole = answer.whole
    difference, check = whole.difference, whole.check
    if difference is None or whole.verdict in UNFAIR:
        return []
    label = "All genera" if answer.genera else f"{names.one} against {names.other}"
    found = [
        DifferenceLine(
            label=label, points=difference.points, low=difference.low, high=difference.high
        )
    ]
    if check is not None and check.points is not None:
        found.append(DifferenceLine(label="Like with like", points=check.points))
    genera = sorted(_told(answer), key=lambda line: answer.records.genera[line.genus].casefold())
    found += [
        DifferenceLine(
            label=answer.records.genera[line.genus],
            points=line.points,
            low=line.low,
            high=line.high,
        )
        for line in genera
    ]
    return found
